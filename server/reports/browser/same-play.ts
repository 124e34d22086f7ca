import { facts, type Play } from '../../football/play.ts';

/** Do two plays say the same? A fact that is undefined was not logged. */
export function samePlay(one: Play, other: Play): boolean {
  return facts.every((fact) => JSON.stringify(one[fact]) === JSON.stringify(other[fact]));
}
