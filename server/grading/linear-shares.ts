import { type GradeScale, gameSharesFrom, type SharesOf } from './game-shares.ts';
import type { MixedModelFit } from './mixed-model.ts';
import {
  effectOfRow,
  type SeasonFactor,
  seasonCombination,
  seasonFactors,
  seasonLevel,
} from './season-fit.ts';
import type { UsableRow } from './season-rows.ts';

/** Shares by the linear model: a grade is itself a sum of effects, and leaving a game out is exact. */
export function linearShares(fit: MixedModelFit, rows: readonly UsableRow[]): SharesOf {
  const fixed = new Map(fit.fixed.map(({ name, estimate }) => [name, estimate ?? 0]));
  const effects = Object.keys(seasonFactors).map((name) => effectOfRow(fit, name as SeasonFactor));
  const of = (factor: SeasonFactor, row: UsableRow) => ({
    factor: seasonFactors[factor],
    level: seasonLevel(factor, row),
  });
  return gameSharesFrom({
    fit,
    rows,
    leftOut: (row) => ({
      combination: seasonCombination(row),
      variance: fit.residualVariance / row.weight,
      residual: row.value - effects.reduce((sum, effect) => sum + effect(row), fixed.get(row.position)!),
    }),
    effects: {
      official: (row) => [of('official', row)],
      observers: (row) => [of('observer', row), of('observerInPosition', row)],
      game: (row) => [of('game', row), of('officialInGame', row)],
    },
    scaleOf: (position): GradeScale => ({
      parts: (official) => [
        { fixed: { [position]: 1 }, effects: [{ factor: seasonFactors.official, level: official }] },
      ],
      at: ([grade]) => ({ grade: grade!, standing: grade!, slopes: [1] }),
    }),
  });
}
