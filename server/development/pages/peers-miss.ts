import { number } from '../../web/format.ts';

/** A number of misses expected of others, in words where it is next to none. */
export function misses(expected: number | null): string {
  if (expected === null) return '–';
  return expected < 0.05 ? 'hardly any' : number(expected);
}
