import type { Position } from '../../../football/positions.ts';
import { type CrewOnForm, crewsWrong } from '../../crews-wrong.ts';
import type { Board } from './board.ts';

export type Person = { id: string; name: string; official: boolean; isNew: boolean; usually: string };
type Seat = { field: string; position: Position; box: HTMLElement; select: HTMLSelectElement };
type Crew = { place: number; nameField: HTMLInputElement; seats: readonly Seat[] };

/** The page's form: its selects and boxes stay what is sent, and the board only reads and sets them. */
export class CrewForm {
  readonly people: readonly Person[];
  readonly crews: readonly Crew[];
  readonly #leaves: readonly HTMLInputElement[];
  readonly #form: HTMLFormElement;

  constructor(form: HTMLFormElement) {
    this.#form = form;
    this.#leaves = [...form.querySelectorAll<HTMLInputElement>('input[name=leaves]')];
    this.people = this.#leaves.map(({ value, dataset }) => ({
      id: value,
      name: dataset.name ?? '',
      official: dataset.official !== undefined,
      isNew: dataset.new !== undefined,
      usually: dataset.usually ?? '',
    }));
    this.crews = [...form.querySelectorAll<HTMLElement>('[data-crew]')].map((crew) => ({
      place: Number(crew.dataset.crew),
      nameField: crew.querySelector<HTMLInputElement>('.crew-name input')!,
      seats: [...crew.querySelectorAll<HTMLElement>('[data-seat]')].map((box) => ({
        field: box.dataset.seat!,
        position: box.dataset.position as Position,
        box,
        select: box.querySelector('select')!,
      })),
    }));
  }

  get seats(): Seat[] {
    return this.crews.flatMap(({ seats }) => seats);
  }

  read(): Board {
    return {
      seats: new Map(this.seats.map(({ field, select }) => [field, select.value])),
      leaving: new Set(this.#leaves.filter(({ checked }) => checked).map(({ value }) => value)),
    };
  }

  write({ seats, leaving }: Board): void {
    for (const { field, select } of this.seats) select.value = seats.get(field) ?? '';
    for (const box of this.#leaves) box.checked = leaving.has(box.value);
  }

  nameOf(place: number): string {
    return this.crews.find((crew) => crew.place === place)?.nameField.value.trim() ?? '';
  }

  /** What is wrong now, beside each field, in the words the server would say. */
  tellWrong(board: Board): void {
    const crews = this.crews
      .map(({ place, nameField, seats }): CrewOnForm => {
        const members = seats
          .map(({ field, position }) => ({ position, personId: board.seats.get(field) ?? '' }))
          .filter(({ personId }) => personId !== '');
        return { place, name: nameField.value.trim(), members };
      })
      .filter(({ name, members }) => name !== '' || members.length > 0);
    const officials = this.people
      .filter(({ official }) => official)
      .map(({ id, name }) => [id, name] as const);
    const wrong = crewsWrong(crews, new Map(officials), board.leaving);
    for (const { place, nameField } of this.crews)
      this.#tell(`crew-${place}`, [nameField], nameField.closest('label')!, wrong[`crew-${place}`]);
    for (const { field, box, select } of this.seats)
      this.#tell(field, [select, box.querySelector('button')], box.lastElementChild!, wrong[field]);
  }

  #tell(field: string, fields: (Element | null)[], after: Element, says: string | undefined): void {
    const id = `wrong-${field}`;
    let words = this.#form.querySelector(`#${id}`);
    if (says && !words) {
      words = Object.assign(document.createElement('span'), { id, className: 'wrong' });
      after.after(words);
    }
    if (words && says) words.textContent = says;
    else words?.remove();
    for (const one of fields) {
      if (says) one?.setAttribute('aria-describedby', id);
      else one?.removeAttribute('aria-describedby');
      if (one?.tagName === 'BUTTON') one.classList.toggle('is-wrong', says !== undefined);
      else if (says) one?.setAttribute('aria-invalid', 'true');
      else one?.removeAttribute('aria-invalid');
    }
  }
}
