import { groupBy } from '../group-by.ts';
import type { Combination } from '../prediction.ts';
import type { CountModelFit } from './count-model.ts';
import type { CountRow, DutyClass } from './count-rows.ts';
import { countFactorOf, countFactors, expit, logit, officialInClass } from './season-counts.ts';

/** The mean over evenings of one official, by Gauss and Hermite's rule of three nodes. */
const evenings = [
  { at: 0, share: 2 / 3 },
  { at: Math.sqrt(3), share: 1 / 6 },
  { at: -Math.sqrt(3), share: 1 / 6 },
];

/** How a position's grades follow from effects on the log-odds of a miss. */
export interface CountScale {
  /** What an official adds to the log-odds of a miss, one sum of effects for each class of duties. */
  shifts(official: string): Combination[];
  /** Log-odds of what is kept of the grade at these shifts, and its slope for each of them. */
  at(shifts: Float64Array): { kept: number; slopes: Float64Array };
}

/**
 * What gives, by position, the way from effects to the grade: what a neutral observer would record on average over
 * evenings in ordinary games, with the position's own mix of weighted chances.
 */
export function countScaleFrom(
  fit: CountModelFit,
  rows: readonly CountRow[],
): (position: string) => CountScale {
  const evening = Math.sqrt(countFactorOf(fit, 'officialInGame').variance);
  const rowsOf = groupBy(rows, (row) => row.position);

  return (position) => {
    const classes = mixOf(rowsOf.get(position)!);
    return {
      shifts: (official) =>
        classes.map((one) => ({
          fixed: { '(intercept)': 1 },
          effects: [
            { factor: countFactors.position, level: position },
            { factor: countFactors.official, level: official },
            { factor: countFactors.officialInClass, level: officialInClass(official, one.class) },
          ],
        })),
      at(shifts) {
        const slopes = new Float64Array(classes.length);
        let lost = 0;
        for (const [c, { share, level }] of classes.entries()) {
          let own = 0;
          let slope = 0;
          for (const { at, share: part } of evenings) {
            const chance = expit(level + shifts[c]! + evening * at);
            own += part * chance;
            slope += part * chance * (1 - chance);
          }
          lost += share * own;
          slopes[c] = -share * slope;
        }
        for (let c = 0; c < slopes.length; c += 1) slopes[c]! /= lost * (1 - lost);
        return { kept: -logit(lost), slopes };
      },
    };
  };
}

/** The position's mix: each class's share of the weight of its chances, and the log-odds of a miss expected there. */
function mixOf(rows: readonly CountRow[]): { class: DutyClass; share: number; level: number }[] {
  const whole = rows.reduce((sum, row) => sum + row.weight, 0);
  return [...groupBy(rows, (row) => row.class)].map(([dutyClass, own]) => {
    const weight = own.reduce((sum, row) => sum + row.weight, 0);
    const expected = own.reduce((sum, row) => sum + row.weight * row.expected, 0);
    return { class: dutyClass, share: weight / whole, level: logit(expected / weight) };
  });
}
