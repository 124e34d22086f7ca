import { type GradeScale, gameSharesFrom, type SharesOf } from './game-shares.ts';
import { type PastRow, seenBefore } from './last-season.ts';
import {
  effectOfRow,
  gradeCombination,
  onScale,
  type SeasonFactor,
  type SeasonFit,
  seasonCombination,
  seasonFactors,
  seasonLevel,
} from './season-fit.ts';
import type { UsableRow } from './season-rows.ts';
import { varianceUncertainty } from './variance-uncertainty.ts';

/** Shares by the linear model: a grade is itself a sum of effects, and leaving a game out is exact. */
export function linearShares(
  fit: SeasonFit,
  rows: readonly UsableRow[],
  past: readonly PastRow[] = [],
): SharesOf {
  const fixed = new Map(fit.fixed.map(({ name, estimate }) => [name, estimate ?? 0]));
  const effects = Object.keys(seasonFactors).map((name) => effectOfRow(fit, name as SeasonFactor));
  const usualLossOf = (position: string) => fit.usualLoss.get(position)!;
  const of = (factor: SeasonFactor, row: UsableRow) => ({
    factor: seasonFactors[factor],
    level: seasonLevel(factor, row),
  });
  return gameSharesFrom({
    fit,
    rows,
    leftOut(row) {
      const { response, weight } = onScale(fit.usualLoss, row);
      const inPoints = effects.reduce((sum, effect) => sum + effect(row), 0);
      return {
        combination: seasonCombination(row),
        variance: fit.residualVariance / weight,
        residual: response - fixed.get(row.position)! - inPoints / usualLossOf(row.position),
      };
    },
    effects: {
      official: (row) => [of('official', row)],
      // All who could have watched: a grade is what they would mark on average.
      observers: (row) =>
        fit.observersOf
          .get(row.official)!
          .flatMap((observer) => [
            of('observer', { ...row, observer }),
            of('observerInPosition', { ...row, observer }),
          ]),
      game: (row) => [of('game', row), of('officialInGame', row)],
    },
    scaleOf(position): GradeScale {
      const usual = usualLossOf(position);
      return {
        parts: (official) => [gradeCombination(fit, position, official)],
        at: ([shift]) => ({ grade: 100 + usual * shift!, standing: shift!, slopes: [usual] }),
      };
    },
    seasonBefore: seenBefore(past, seasonFactors.official),
    uncertainty: varianceUncertainty(fit),
  });
}
