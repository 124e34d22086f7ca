import { gameSharesFrom, type SharesOf } from '../game-shares.ts';
import { type PastRow, seenBefore } from '../last-season.ts';
import type { CountModelFit } from './count-model.ts';
import type { CountRow } from './count-rows.ts';
import { countScaleFrom } from './count-scale.ts';
import { countFactors, countLevel, countUncertainty, expit, officialInClass } from './season-counts.ts';

/**
 * Shares by the model of counts. Parts of the uncertainty are variances on the log-odds of a miss, in points² by the
 * slope of the grade (delta method), and without a game the effects are one Newton step from the fit of all games, then
 * mapped to the grade in full. The season's variances, what is expected of each duty and the position's mix of duties
 * stay as they are. What an official does in one class of duties only is the official's part.
 */
export function countShares(
  fit: CountModelFit,
  rows: readonly CountRow[],
  observersOf: ReadonlyMap<string, readonly string[]>,
  past: readonly PastRow[] = [],
): SharesOf {
  const predictorOf = new Map(rows.map((row, at) => [row, fit.predictor[at]!]));
  const classes = [...new Set(rows.map((row) => row.class))];
  const names = Object.keys(countFactors) as (keyof typeof countFactors)[];
  const of = (factor: keyof typeof countFactors, row: CountRow) => ({
    factor: countFactors[factor],
    level: countLevel[factor](row),
  });
  const scaleOf = countScaleFrom(fit, rows, observersOf);
  return gameSharesFrom({
    fit,
    rows,
    leftOut(row) {
      const mean = expit(predictorOf.get(row)!);
      const spread = mean * (1 - mean);
      return {
        combination: { fixed: { '(intercept)': 1 }, effects: names.map((name) => of(name, row)) },
        variance: 1 / (row.trials * spread),
        residual: (row.lost - mean) / spread,
      };
    },
    effects: {
      official: (row) => [
        of('official', row),
        ...classes.map((one) => ({
          factor: countFactors.officialInClass,
          level: officialInClass(row.official, one),
        })),
      ],
      // All who could have watched: a grade is what they would mark on average.
      observers: (row) =>
        observersOf
          .get(row.official)!
          .flatMap((observer) => [
            of('observer', { ...row, observer }),
            of('observerInPosition', { ...row, observer }),
          ]),
      game: (row) => [of('game', row), of('officialInGame', row)],
    },
    seasonBefore: seenBefore(past, countFactors.official),
    uncertainty: countUncertainty(fit),
    scaleOf(position) {
      const { shifts, at } = scaleOf(position);
      return {
        parts: shifts,
        at(values) {
          const { kept, slopes } = at(values);
          const share = expit(kept);
          return {
            grade: 100 * share,
            standing: kept,
            slopes: slopes.map((slope) => 100 * share * (1 - share) * slope),
          };
        },
      };
    },
  });
}
