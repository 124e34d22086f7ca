import { capital } from '../../../web/format.ts';

/** How the board calls a place aloud. */
export type Said = { readonly name: string; readonly position: string };

const at = ({ name, position }: Said) => `${position} in ${name}`;
const atFirst = (place: Said) => capital(at(place));

export const pickedUp = (person: string, usually: string | undefined): string =>
  `${person}${usually ? `, usually ${usually},` : ''} is picked up. Go to a seat and put them down, or press Escape.`;

/** What putting down here would do. */
export function overPlace(
  person: string,
  place: Said | undefined,
  sitting: string | undefined,
  from: Said | undefined,
) {
  if (!place) return from ? `Here ${person} would be in no crew.` : `${person} is in no crew.`;
  if (!sitting) return `${atFirst(place)}: empty.`;
  return from
    ? `${atFirst(place)}: exchange with ${sitting}, who would be ${at(from)}.`
    : `${atFirst(place)}: ${sitting}, who would be in no crew.`;
}

/** What putting down did. */
export function wasPut(
  person: string,
  place: Said | undefined,
  sitting: string | undefined,
  from: Said | undefined,
) {
  if (!place) return `${person} is in no crew now.`;
  const now = `${person} is ${at(place)} now.`;
  if (!sitting) return now;
  return from ? `${now} ${sitting} is ${at(from)}.` : `${now} ${sitting} is in no crew.`;
}

export function emptySeatsInWords(count: number): string {
  if (count === 0) return 'No seat is empty.';
  return count === 1 ? '1 seat is still empty.' : `${count} seats are still empty.`;
}
