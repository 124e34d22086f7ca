import { type Board, type Carried, emptySeats, inNoCrew, noCrew } from './board.ts';
import type { CrewForm, Person } from './form.ts';
import { emptySeatsInWords } from './seats-in-words.ts';

const element = <K extends keyof HTMLElementTagNameMap>(
  tag: K,
  className: string,
  words = '',
  more: Partial<HTMLElementTagNameMap[K]> = {},
): HTMLElementTagNameMap[K] =>
  Object.assign(document.createElement(tag), { className, textContent: words }, more);

/** What lies where: the handle of each seat, and the list of those in no crew. */
export class BoardView {
  readonly undo = element('button', 'second', 'Undo', { type: 'button', disabled: true });
  readonly byLists = element('button', 'second', 'Choose from lists', { type: 'button' });
  readonly panel = element('section', 'no-crew');
  readonly #form: CrewForm;
  readonly #empty = element('p', 'empty-seats');
  readonly #list = element('ul', '');
  readonly #said = element('p', 'said');
  readonly #handles = new Map<string, HTMLButtonElement>();
  readonly #items = new Map<string, HTMLElement>();
  readonly #nobody = element('li', 'soft', 'Nobody');
  readonly #drop = dropItem();

  constructor(form: CrewForm) {
    this.#form = form;
    for (const { field, box } of form.seats) {
      const handle = element('button', 'handle', '', { type: 'button' });
      handle.dataset.at = field;
      box.querySelector('label')!.after(handle);
      this.#handles.set(field, handle);
    }
    const title = element('h3', '', 'In no crew', { id: 'no-crew' });
    this.panel.setAttribute('aria-labelledby', title.id);
    this.#said.setAttribute('role', 'status');
    const tools = element('p', 'tools');
    tools.append(this.undo, this.byLists);
    this.panel.append(title, this.#empty, tools, this.#said, this.#list);
  }

  say(words: string): void {
    this.#said.textContent = words;
  }

  show(board: Board, carried: Carried | undefined): void {
    const people = new Map(this.#form.people.map((person) => [person.id, person]));
    for (const { place, seats } of this.#form.crews) {
      const name = this.#form.nameOf(place);
      for (const { field, position } of seats) {
        const handle = this.#handles.get(field)!;
        const person = people.get(board.seats.get(field) ?? '');
        const where = `${position}, ${name === '' ? 'a crew without a name' : name}: `;
        fill(handle, where, person, person?.usually === position ? '' : (person?.usually ?? ''));
        handle.classList.toggle('carried', carried?.from === field);
        handle.setAttribute('aria-pressed', String(carried?.from === field));
      }
    }
    const waiting = inNoCrew(
      board,
      this.#form.people.filter(({ official }) => official),
    );
    setChildren(this.#list, [
      ...waiting.map((person) => this.#item(person, carried)),
      ...(waiting.length === 0 && !carried ? [this.#nobody] : []),
      ...(carried && carried.from !== noCrew ? [this.#drop] : []),
    ]);
    this.#empty.textContent = emptySeatsInWords(
      emptySeats(
        board,
        this.#form.crews.map(({ place, seats }) => ({
          name: this.#form.nameOf(place),
          fields: seats.map(({ field }) => field),
        })),
      ),
    );
  }

  #item(person: Person, carried: Carried | undefined): HTMLElement {
    const item = this.#items.get(person.id) ?? element('li', '');
    this.#items.set(person.id, item);
    const handle = item.querySelector('button') ?? element('button', 'handle', '', { type: 'button' });
    if (!handle.isConnected) item.append(handle);
    handle.dataset.at = listPlace(person.id);
    fill(handle, '', person, person.usually);
    const isCarried = carried?.from === noCrew && carried.personId === person.id;
    handle.classList.toggle('carried', isCarried);
    handle.setAttribute('aria-pressed', String(isCarried));
    return item;
  }

  /** The places of the board by columns, as the arrow keys go; the list comes last. */
  columns(): string[][] {
    const listed = [...this.#list.querySelectorAll<HTMLElement>('[data-at]')].map(
      ({ dataset }) => dataset.at!,
    );
    return [...this.#form.crews.map(({ seats }) => seats.map(({ field }) => field)), listed];
  }

  handleAt(at: string): HTMLButtonElement | undefined {
    return (
      this.#handles.get(at) ??
      [...this.#list.querySelectorAll<HTMLButtonElement>('[data-at]')].find((one) => one.dataset.at === at)
    );
  }

  /** One place of the board takes part in the Tab key's order, the others are reached by arrows. */
  reachedByTab(at: string): void {
    const all = this.columns().flat();
    const one = all.includes(at) ? at : all[0];
    for (const place of all) this.handleAt(place)!.tabIndex = place === one ? 0 : -1;
  }
}

/** Of a person in the list; of a seat it is the field. */
export const listPlace = (personId: string): string => `list ${personId}`;

function fill(handle: HTMLElement, where: string, person: Person | undefined, usually: string): void {
  const shown = [where, person?.id, usually].join('|');
  if (handle.dataset.shown === shown) return;
  handle.dataset.shown = shown;
  const grip = element('span', 'grip');
  grip.setAttribute('aria-hidden', 'true');
  const who = element('span', 'sitting', person?.name ?? 'nobody yet');
  if (usually) who.append(' ', element('span', 'soft', `usually ${usually}`));
  if (person?.isNew) who.append(' ', element('span', 'tag good', 'new'));
  handle.replaceChildren(...(person ? [grip] : []), element('span', 'visually-hidden', where), who);
  handle.classList.toggle('vacant', !person);
  handle.dataset.person = person?.id ?? '';
}

/** What stays is not taken out and in again: it keeps the focus, and the finger that drags it. */
function setChildren(list: Element, wanted: readonly Element[]): void {
  for (const child of [...list.children]) if (!wanted.includes(child)) child.remove();
  for (const [i, child] of wanted.entries())
    if (list.children[i] !== child) list.insertBefore(child, list.children[i] ?? null);
}

function dropItem(): HTMLElement {
  const handle = element('button', 'handle vacant', 'Put down here', { type: 'button' });
  handle.dataset.at = noCrew;
  const item = element('li', '');
  item.append(handle);
  return item;
}
