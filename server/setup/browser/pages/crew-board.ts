import { began, did, undone } from '../../../web/browser/history.ts';
import { arrowFrom } from '../crew-board/arrows.ts';
import { type Board, type Carried, noCrew, putDown, withLeaving } from '../crew-board/board.ts';
import { dragHandles } from '../crew-board/drag.ts';
import { CrewForm } from '../crew-board/form.ts';
import { overPlace, pickedUp, type Said, wasPut } from '../crew-board/seats-in-words.ts';
import { BoardView, listPlace } from '../crew-board/view.ts';

// Crews of the next season re-formed by dragging, by clicks or by keys: Enter or Space picks up and puts down, arrows go
// from seat to seat, Escape lets go. The form's selects hold what is sent, and work without this.
const found = document.querySelector<HTMLFormElement>('form.next-season');
const root = found?.querySelector<HTMLElement>('.crew-board');
if (found && root?.querySelector('[data-seat]')) start(found, root);

function start(page: HTMLFormElement, root: HTMLElement): void {
  const form = new CrewForm(page);
  const view = new BoardView(form);
  let history = began(form.read());
  let carried: Carried | undefined;
  let here = form.seats[0]!.field;
  root.append(view.panel);
  root.classList.add('by-hand');

  const show = () => {
    view.show(history.now, carried);
    view.undo.disabled = history.past.length === 0;
    form.tellWrong(history.now);
    view.reachedByTab(here);
  };
  function change(now: Board): void {
    history = did(history, now);
    form.write(history.now);
    show();
  }

  const nameOf = (id: string | undefined) => form.people.find((person) => person.id === id)?.name ?? '';
  const sittingAt = (place: string) => nameOf(history.now.seats.get(place));
  function said(place: string): Said | undefined {
    const crew = form.crews.find(({ seats }) => seats.some(({ field }) => field === place));
    const seat = crew?.seats.find(({ field }) => field === place);
    return crew && seat
      ? { name: form.nameOf(crew.place) || 'a crew without a name', position: seat.position }
      : undefined;
  }
  const placeOf = (at: string) => (history.now.seats.has(at) ? at : noCrew);

  function goTo(at: string): void {
    here = at;
    view.reachedByTab(at);
    view.handleAt(at)?.focus();
  }
  function pickUp(handle: HTMLElement): boolean {
    const { at = '', person: personId = '' } = handle.dataset;
    if (personId === '') return false;
    carried = { personId, from: placeOf(at) };
    here = at;
    const person = form.people.find(({ id }) => id === personId);
    show();
    view.say(pickedUp(nameOf(personId), person?.usually));
    goTo(at);
    return true;
  }
  function letGo(words = 'Let go. Nothing changed.'): void {
    if (!carried) return;
    const { from, personId } = carried;
    carried = undefined;
    show();
    goTo(from === noCrew ? listPlace(personId) : from);
    view.say(words);
  }
  function put(place: string): void {
    if (!carried) return;
    const { personId, from } = carried;
    if (place === from || history.now.seats.get(place) === personId) {
      letGo();
      return;
    }
    const words = wasPut(nameOf(personId), said(place), sittingAt(place), said(from));
    const now = putDown(history.now, carried, place);
    carried = undefined;
    change(now);
    goTo(place === noCrew ? listPlace(personId) : place);
    view.say(words);
  }
  function takeBack(): void {
    if (history.past.length === 0) return;
    carried = undefined;
    history = undone(history);
    form.write(history.now);
    show();
    view.say('The last step is undone.');
  }

  root.addEventListener('click', (event) => {
    const handle = (event.target as Element).closest<HTMLElement>('.handle');
    if (!handle) return;
    if (carried) put(placeOf(handle.dataset.at!));
    else if (!pickUp(handle)) view.say(`${sayPlace(handle.dataset.at!)} is empty. Pick somebody up first.`);
  });
  const sayPlace = (at: string) => {
    const place = said(at);
    return place ? `${place.position} in ${place.name}` : 'This';
  };
  root.addEventListener('focusin', (event) => {
    const at = (event.target as HTMLElement).dataset.at;
    if (at === undefined) return;
    here = at;
    view.reachedByTab(at);
    if (!carried || placeOf(at) === carried.from) return;
    view.say(overPlace(nameOf(carried.personId), said(at), sittingAt(at), said(carried.from)));
  });
  page.addEventListener('keydown', (event) => {
    const on = event.target as HTMLElement;
    if (event.key === 'Escape') letGo();
    const isText = on.matches('input:not([type=checkbox]), select');
    if ((event.ctrlKey || event.metaKey) && !event.shiftKey && event.key === 'z' && !isText) {
      event.preventDefault();
      takeBack();
      return;
    }
    if (!on.matches('.handle') || event.ctrlKey || event.altKey || event.metaKey) return;
    const next = arrowFrom(view.columns(), on.dataset.at!, event.key);
    if (next === undefined) return;
    event.preventDefault();
    goTo(next);
  });
  page.addEventListener('change', (event) => {
    const on = event.target as HTMLElement;
    if (on instanceof HTMLSelectElement) change(form.read());
    else if (on instanceof HTMLInputElement && on.name === 'leaves') {
      const seats = [...history.now.seats]
        .filter(([, id]) => id === on.value)
        .map(([field]) => sayPlace(field));
      if (carried?.personId === on.value) carried = undefined;
      change(withLeaving(history.now, on.value, on.checked));
      const name = nameOf(on.value);
      if (!on.checked) view.say(`${name} stays, and is in no crew.`);
      else view.say(`${name} leaves.${seats.length > 0 ? ` Empty now: ${seats.join(', ')}.` : ''}`);
    }
  });
  page.addEventListener('input', (event) => {
    if ((event.target as Element).closest('.crew-name')) show();
  });
  view.undo.addEventListener('click', takeBack);
  view.byLists.addEventListener('click', () => {
    const byHand = root.classList.toggle('by-hand');
    view.byLists.textContent = byHand ? 'Choose from lists' : 'Move by hand';
    if (carried) letGo();
  });
  dragHandles(root, view.panel, {
    mayTake: (handle) => (handle.dataset.person ?? '') !== '',
    onTaken: (handle) => pickUp(handle),
    onPut: ({ at, panel }) => {
      if (panel) put(noCrew);
      else if (at === undefined) letGo();
      else put(placeOf(at));
    },
    onLetGo: () => letGo(),
  });
  // A page gone back to has its fields filled in again after this ran.
  addEventListener('pageshow', () => {
    history = began(form.read());
    show();
  });
  show();
}
