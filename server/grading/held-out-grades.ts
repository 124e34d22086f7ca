import { leaveGroupsOut } from './held-out.ts';
import { byGame, type HeldOutGame } from './held-out-error.ts';
import { effectOfRow, levelOf, onScale, type SeasonFit, seasonFactors } from './season-fit.ts';
import type { UsableRow } from './season-rows.ts';

/** How far grades lay from what the linear model predicts of them from all other games. */
export function heldOutGrades(fit: SeasonFit, usable: readonly UsableRow[]): HeldOutGame[] {
  const levelOfPosition = new Map(fit.fixed.map(({ name, estimate }) => [name, estimate ?? 0]));
  const factors = (Object.keys(seasonFactors) as (keyof typeof seasonFactors)[]).map((factor) => ({
    name: seasonFactors[factor],
    levelOf: levelOf[factor],
    effectOf: effectOfRow(fit, factor),
  }));
  const heldOut = leaveGroupsOut(
    fit,
    usable.map((row) => {
      const usual = fit.usualLoss.get(row.position)!;
      const { response, weight } = onScale(fit.usualLoss, row);
      const fitted = factors.reduce(
        (sum, { effectOf }) => sum + effectOf(row) / usual,
        levelOfPosition.get(row.position)!,
      );
      const information = weight / fit.residualVariance;
      return {
        combination: {
          fixed: { [row.position]: 1 },
          effects: factors.map((factor) => ({ factor: factor.name, level: factor.levelOf(row) })),
        },
        information,
        score: information * (response - fitted),
        group: row.game,
      };
    }),
  );
  return byGame(
    usable.flatMap(({ game, position, weight }, at) => {
      const found = heldOut[at];
      return found ? [{ game, weight, error: found.residual * fit.usualLoss.get(position)! }] : [];
    }),
  );
}
