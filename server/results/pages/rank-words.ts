import { type AdjustedGrade, knownInterval } from '../../grading/adjusted-grade.ts';
import { number, percent } from '../../web/format.ts';

/**
 * A chance of a place. Some thousand draws tell no chance from none, nor certainty from nearly so.
 *
 * @param enough whether there are places for all who are ranked
 */
export function chanceText(chance: number | null, enough: boolean): string {
  if (chance !== null && !enough) {
    if (chance < 0.01) return 'under 1 %';
    if (chance > 0.99) return 'over 99 %';
  }
  return percent(chance);
}

export const rangeText = (low: number, high: number): string =>
  low === high ? `${low}` : `${low} to ${high}`;

/** The 90 % interval of a grade; a dash where there is none, or where its error is not known. */
export function gradeRange(adjusted: AdjustedGrade | null | undefined): string {
  const known = knownInterval(adjusted);
  return known ? `${number(known.low, 2)} to ${number(known.high, 2)}` : '–';
}
