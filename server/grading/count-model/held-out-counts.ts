import { groupBy } from '../group-by.ts';
import { leaveGroupsOut } from '../held-out.ts';
import { byGame, type HeldOutGame } from '../held-out-error.ts';
import type { CountModelFit } from './count-model.ts';
import type { CountRow } from './count-rows.ts';
import { countFactors, countLevel, expit } from './season-counts.ts';

/** Nodes of Gauss and Hermite's rule of three, for the mean over what is uncertain. */
const nodes = [
  { at: 0, share: 2 / 3 },
  { at: Math.sqrt(3), share: 1 / 6 },
  { at: -Math.sqrt(3), share: 1 / 6 },
];

/** How far grades lay from what the count model predicts of them from all other games, on the grade's scale. */
export function heldOutCounts(fit: CountModelFit, rows: readonly CountRow[]): HeldOutGame[] {
  const names = Object.keys(countFactors) as (keyof typeof countFactors)[];
  const heldOut = leaveGroupsOut(
    fit,
    rows.map((row, at) => {
      const mean = expit(fit.predictor[at]!);
      return {
        combination: {
          fixed: { '(intercept)': 1 },
          effects: names.map((name) => ({ factor: countFactors[name], level: countLevel[name](row) })),
        },
        information: row.trials * mean * (1 - mean),
        score: row.trials * (row.lost - mean),
        group: row.game,
      };
    }),
  );
  const reports = groupBy([...rows.keys()], (at) => {
    const { game, observer, official, position } = rows[at]!;
    return `${game}\n${observer}\n${official}\n${position}`;
  });
  return byGame(
    [...reports.values()].flatMap((members) => {
      let weight = 0;
      let error = 0;
      for (const at of members) {
        const row = rows[at]!;
        const found = heldOut[at];
        if (!found) return [];
        const mean = expit(fit.predictor[at]!);
        const information = row.trials * mean * (1 - mean);
        const predictor = fit.predictor[at]! + (row.lost - mean) / (mean * (1 - mean)) - found.residual;
        const deviation = Math.sqrt(Math.max(0, found.variance - 1 / information));
        const predicted = nodes.reduce(
          (sum, node) => sum + node.share * expit(predictor + deviation * node.at),
          0,
        );
        weight += row.weight;
        error += 100 * row.weight * (predicted - row.lost);
      }
      return [{ game: rows[members[0]!]!.game, weight, error: error / weight }];
    }),
  );
}
