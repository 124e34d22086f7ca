import type { Position } from '../football/positions.ts';

// Said by the server at opening, and beside the field while crews are re-formed.

/** A crew as the form shows it: `place` is its number on the form. */
export type CrewOnForm = {
  place: number;
  name: string;
  members: { position: Position; personId: string }[];
};

/** The form's name of a seat. */
export const seatField = (place: number, position: Position): string =>
  `crew-${place}-${position.replaceAll(' ', '-')}`;

/**
 * What is wrong with these crews, by the form's field.
 * @param officials who may sit in a crew, by id, with their names
 * @param leaving ids of those who do not serve in the new season
 */
export function crewsWrong(
  crews: readonly CrewOnForm[],
  officials: ReadonlyMap<string, string>,
  leaving: ReadonlySet<string>,
): Record<string, string> {
  const wrong: Record<string, string> = {};
  const names = new Set<string>();
  const seats = new Map<string, string>();
  for (const { place, name, members } of crews) {
    if (name === '') wrong[`crew-${place}`] = 'Give the crew a name, or leave its positions empty.';
    else if (name.length > 100) wrong[`crew-${place}`] = 'The name has at most 100 characters.';
    else if (names.has(name)) wrong[`crew-${place}`] = 'Another crew has this name.';
    names.add(name);
    for (const { position, personId } of members) {
      const field = seatField(place, position);
      const person = officials.get(personId);
      const seat = seats.get(personId);
      if (!person) wrong[field] = 'Choose an official of the conference.';
      else if (leaving.has(personId))
        wrong[field] = `${person} is marked as leaving. Choose somebody else, or let them stay.`;
      else if (seat) wrong[field] = `${person} is in ${seat} already.`;
      seats.set(personId, `${name === '' ? 'a crew without a name' : `crew ${name}`}, as ${position}`);
    }
  }
  return wrong;
}
