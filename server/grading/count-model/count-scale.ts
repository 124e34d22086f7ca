import { groupBy } from '../group-by.ts';
import type { Combination } from '../prediction.ts';
import type { CountModelFit } from './count-model.ts';
import type { CountRow, DutyClass } from './count-rows.ts';
import {
  classInPosition,
  countFactorOf,
  countFactors,
  countSeverityEffects,
  expit,
  logit,
  officialInClass,
} from './season-counts.ts';

/** The mean over evenings, games and observers, by Gauss and Hermite's rule of three nodes. */
const occasions = [
  { at: 0, share: 2 / 3 },
  { at: Math.sqrt(3), share: 1 / 6 },
  { at: -Math.sqrt(3), share: 1 / 6 },
];

/** How a position's grades follow from effects on the log-odds of a miss. */
interface CountScale {
  /** What an official adds to the log-odds of a miss, one sum of effects for each class of duties. */
  shifts(official: string): Combination[];
  /** Log-odds of what is kept of the grade at these shifts, and its slope for each of them. */
  at(shifts: Float64Array): { kept: number; slopes: Float64Array };
}

/**
 * What gives, by position, the way from effects to the grade: what the observers of an official's comparable group,
 * each counted alike, would record on average over evenings and games, with the position's own mix of weighted chances.
 *
 * @param observersOf by official, the observers of the group
 */
export function countScaleFrom(
  fit: CountModelFit,
  rows: readonly CountRow[],
  observersOf: ReadonlyMap<string, readonly string[]>,
): (position: string) => CountScale {
  const occasion = Math.sqrt(
    (['officialInGame', 'game', 'observer', 'observerInPosition'] as const).reduce(
      (sum, factor) => sum + countFactorOf(fit, factor).variance,
      0,
    ),
  );
  const spread = fit.spread();
  const placesOf = groupBy([...rows.keys()], (at) => rows[at]!.position);

  return (position) => {
    const places = placesOf.get(position)!;
    const classes = mixOf(places.map((at) => rows[at]!));
    const above = aboveMean(
      places.map((at) => ({
        weight: rows[at]!.weight,
        mean: expit(fit.predictor[at]!),
        variance: spread[at]!,
      })),
    );
    return {
      shifts(official) {
        const observers = observersOf.get(official) ?? [];
        const all = observers.flatMap((one) => countSeverityEffects(one, position, 1 / observers.length));
        return classes.map((one) => ({
          fixed: { '(intercept)': 1 },
          effects: [
            ...all,
            { factor: countFactors.classInPosition, level: classInPosition(position, one.class) },
            { factor: countFactors.official, level: official },
            { factor: countFactors.officialInClass, level: officialInClass(official, one.class) },
          ],
        }));
      },
      at(shifts) {
        const slopes = new Float64Array(classes.length);
        let lost = 0;
        for (const [c, { share, level }] of classes.entries()) {
          let own = 0;
          let slope = 0;
          for (const { at, share: part } of occasions) {
            const chance = expit(level - above + shifts[c]! + occasion * at);
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

/**
 * By how much the level found lies above that of the posterior, in log-odds: at the modes rows add up to what was counted,
 * but a chance is more often far above its mode than far below (Jensen), so that with what is uncertain they add up to
 * more. Told by the second term of a row's series.
 */
function aboveMean(rows: readonly { weight: number; mean: number; variance: number }[]): number {
  let more = 0;
  let slope = 0;
  for (const { weight, mean, variance } of rows) {
    const own = weight * mean * (1 - mean);
    slope += own;
    more += (own * (1 - 2 * mean) * variance) / 2;
  }
  return more / slope;
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
