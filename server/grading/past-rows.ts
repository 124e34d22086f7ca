import { outside } from './clip-marks.ts';
import { lastSeasonColumn, type PastRow } from './last-season.ts';
import type { FixedColumn, RandomFactor } from './model-rows.ts';

/** Rows of either model, all columns given. */
export interface ModelRows {
  response: number[];
  weights: number[];
  offset?: number[];
  fixed: FixedColumn[];
  factors: RandomFactor[];
}

/**
 * The rows of this season and after them one for each official of the season before: seen then = shift of the season +
 * official + error. No effect of an observer, a game or an evening is in them: that season's own fit took those out.
 *
 * @param official the factor of officials
 */
export function withSeasonBefore<Rows extends ModelRows>(
  season: Rows,
  past: readonly PastRow[],
  official: string,
  of: (row: PastRow) => { response: number; weight: number; offset?: number },
): Rows {
  if (past.length === 0) return season;
  const none = (rows: ArrayLike<unknown>) => new Array<number>(rows.length).fill(0);
  const seen = past.map(of);
  return {
    ...season,
    response: [...season.response, ...seen.map(({ response }) => response)],
    weights: [...season.weights, ...seen.map(({ weight }) => weight)],
    ...(season.offset ? { offset: [...season.offset, ...seen.map(({ offset = 0 }) => offset)] } : {}),
    fixed: [
      ...season.fixed.map(({ name, values }) => ({ name, values: [...Array.from(values), ...none(past)] })),
      { name: lastSeasonColumn, values: [...none(season.response), ...past.map(() => 1)] },
    ],
    factors: season.factors.map(
      (factor): RandomFactor =>
        factor.name === official
          ? { ...factor, levels: [...Array.from(factor.levels), ...past.map((row) => row.official)] }
          : { ...factor, levels: [...Array.from(factor.levels), ...past.map(() => outside)], outside },
    ),
  };
}
