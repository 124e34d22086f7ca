import { positionsOf } from '../../football/crews.ts';
import { type CrewSize, type Position, positions } from '../../football/positions.ts';
import { type Form, type FormErrors, textOf } from '../../web/form.ts';
import type { CrewInput, Official } from '../crew-store.ts';

// One choice of an official for each position: of a crew, and of a game's working crew.

const fieldOf = (position: Position) => `member-${position}`;

/** Who is chosen, in the trade's order; positions left open are not in it. */
export const membersFrom = (form: Form): CrewInput['members'] =>
  positions.flatMap((position) => {
    const personId = textOf(form[fieldOf(position)]);
    return personId === '' ? [] : [{ position, personId }];
  });

/** The same as a form's values. */
export const membersForm = (members: CrewInput['members']): Form =>
  Object.fromEntries(members.map(({ position, personId }) => [fieldOf(position), personId]));

/** The choices of a form: the positions of a full crew of that size, and apart from them the others. */
export function crewChoices(
  size: CrewSize,
  officials: readonly Official[],
  values: Form,
  errors: FormErrors,
) {
  const usual = positionsOf(size);
  const choice = (position: Position) => {
    const chosen = textOf(values[fieldOf(position)]);
    return {
      position,
      field: fieldOf(position),
      wrong: errors[fieldOf(position)],
      options: officials.map(({ id, name }) => ({ id, name, chosen: id === chosen })),
      filled: chosen !== '',
    };
  };
  const others = positions.filter((position) => !usual.includes(position)).map(choice);
  return { usual: usual.map(choice), others, othersOpen: others.some(({ filled }) => filled) };
}
