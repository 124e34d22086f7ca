import { groupBy } from './group-by.ts';
import { NormalDraws } from './normal-draws.ts';
import { type Combination, type EffectsFit, type Predictions, predict } from './prediction.ts';
import { posteriorRanks } from './ranks.ts';
import { type LeftOut, predictWithout } from './without-rows.ts';

/** One game of an official, in one position: what it does to the adjusted grade. */
interface GameShare {
  game: string;
  /** Part of the uncertainty (error variance) of the adjusted grade that is this game's, 0 to 1. */
  uncertainty: number;
  /** As it would be without it, in points; null where it is the only one. */
  without: { grade: number; standardError: number; place: number } | null;
}

/** Where the uncertainty of an adjusted grade comes from; the parts, with those of the games, add up to 1. */
export interface OfficialShares {
  games: GameShare[];
  /** What the games together have not shown yet of the official. */
  official: number;
  /** How strict the observers were who watched. */
  observers: number;
  /** What the season before showed of the official, where it is taken in. */
  seasonBefore: number;
  /** What is known by way of others: the position's average, the same observers and games with other officials. */
  others: number;
}

/** Shares of an official's grade in a position; null without a row there, or where nothing is uncertain. */
export type SharesOf = (
  position: string,
  official: string,
  ranked: readonly string[],
) => OfficialShares | null;

interface PlacedRow {
  official: string;
  position: string;
  game: string;
  observer: string;
}

interface Effect {
  factor: string;
  level: string;
}

/** How a position's grades follow from a fit's effects. */
export interface GradeScale {
  /** Sums of effects that an official's grade is made of. */
  parts(official: string): Combination[];
  /** The grade where the parts have these values. */
  at(parts: Float64Array): {
    grade: number;
    /** What ranks: any scale that rises with the grade. */
    standing: number;
    /** Points of the grade for each unit of each part. */
    slopes: ArrayLike<number>;
  };
}

/** A fit of a season by either model, as its shares are found from it. */
interface FitOfGrades<Row extends PlacedRow> {
  fit: EffectsFit;
  rows: readonly Row[];
  leftOut(row: Row): LeftOut;
  /** Effects in a row, by whose part of the uncertainty theirs is; what is in none of them is others'. */
  effects: Readonly<Record<'official' | 'observers' | 'game', (row: Row) => Effect[]>>;
  scaleOf(position: string): GradeScale;
  /** What is known of an official from the season before: what the row is made of, and its own variance. */
  seasonBefore(official: string): Omit<LeftOut, 'residual'> | null;
  /** What is added to the covariance of sums of effects because the season's variances are estimated. */
  uncertainty(combinations: readonly Combination[]): Float64Array;
}

/**
 * What gives, from a fit, each game's share of an official's grade and of its uncertainty. The error of a prediction
 * k'β + m'u is a sum of independent parts: of an effect u_j its covariance with the prediction's error, squared, over
 * its variance; of a row's chance likewise (both follow from Henderson's equations, 1975). A game's are the chance in
 * its rows, the official's evening and how hard it was for everyone. Where the grade is not itself such a sum it is
 * taken by its slopes (the delta method): parts are of the error variance in points², as the standard error is.
 */
export function gameSharesFrom<Row extends PlacedRow>(model: FitOfGrades<Row>): SharesOf {
  const { fit, effects } = model;
  const rowsOf = groupBy(model.rows, ({ official, position }) => `${official}\n${position}`);
  const varianceOf = new Map(fit.factors.map(({ name, variance }) => [name, variance]));

  return (position, official, ranked) => {
    const rows = rowsOf.get(`${official}\n${position}`);
    if (!rows || !fit.state.solution) return null;
    const scale = model.scaleOf(position);
    const byGame = [...groupBy(rows, (row) => row.game)];
    const sources = (of: keyof typeof effects, own: readonly Row[]) =>
      [...groupBy(own.flatMap(effects[of]), ({ factor, level }) => JSON.stringify([factor, level])).values()]
        .map(([effect]) => effect!)
        .flatMap((effect) => {
          const variance = varianceOf.get(effect.factor)!;
          return variance > 0 ? [{ combination: { effects: [effect] }, variance }] : [];
        });
    const chance = groupBy(
      rows.map((row) => ({ game: row.game, ...model.leftOut(row) })),
      ({ game }) => game,
    );
    const before = model.seasonBefore(official);
    const groups = [
      sources('official', rows),
      sources('observers', rows),
      before ? [before] : [],
      ...byGame.map(([game, own]) => [...sources('game', own), ...chance.get(game)!]),
    ];
    const parts = scale.parts(official);
    const found = predict(fit, [...parts, ...groups.flat().map(({ combination }) => combination)]);
    const { slopes } = scale.at(found.estimates.subarray(0, parts.length));
    const wide = found.estimates.length;
    const withGrade = (at: number) =>
      parts.reduce((sum, _, part) => sum + slopes[part]! * found.covariance[part * wide + at]!, 0);
    const whole = parts.reduce((sum, _, part) => sum + slopes[part]! * withGrade(part), 0);
    if (!(whole > 0)) return null;
    let next = parts.length;
    const [own, observers, seasonBefore, ...inGames] = groups.map((group) =>
      group.reduce((sum, { variance }) => sum + withGrade(next++) ** 2 / variance / whole, 0),
    );
    const added = along(slopes, model.uncertainty(parts), parts.length, 0);
    const ranking = ranked.includes(official) ? ranked : [...ranked, official];
    const combinations = ranking.flatMap((one) => scale.parts(one));
    const games = byGame.map(([game], at): GameShare => {
      const without = byGame.length > 1 ? predictWithout(fit, combinations, chance.get(game)!) : null;
      return {
        game,
        uncertainty: inGames[at]!,
        without: without && standingIn(without, scale, ranking, official, added),
      };
    });
    const told = inGames.reduce((sum, part) => sum + part, own! + observers! + seasonBefore!);
    return {
      games,
      official: own!,
      observers: observers!,
      seasonBefore: seasonBefore!,
      others: Math.max(0, 1 - told),
    };
  };
}

/** Of those ranked, who have as many parts each, one official. */
function standingIn(
  { estimates, covariance }: Predictions,
  scale: GradeScale,
  ranking: readonly string[],
  official: string,
  added: number,
) {
  const size = ranking.length;
  const at = ranking.indexOf(official);
  const wide = estimates.length;
  const count = wide / size;
  const all = Array.from({ length: size }, (_, i) =>
    scale.at(estimates.subarray(i * count, (i + 1) * count)),
  );
  const { grade, slopes } = all[at]!;
  const variance = along(slopes, covariance, wide, at * count);
  const ranks = posteriorRanks(
    { estimates: all.map(({ standing }) => standing), covariance: new Float64Array(size * size) },
    { top: 1, draws: 0, normals: new NormalDraws(1) },
  );
  return { grade, standardError: Math.sqrt(Math.max(0, variance) + added), place: ranks[at]!.place };
}

/** s'Cs, C the block of a square matrix, `wide` columns, that begins at `from`. */
function along(slopes: ArrayLike<number>, matrix: Float64Array, wide: number, from: number): number {
  let sum = 0;
  for (let a = 0; a < slopes.length; a += 1) {
    for (let b = 0; b < slopes.length; b += 1) {
      sum += slopes[a]! * matrix[(from + a) * wide + from + b]! * slopes[b]!;
    }
  }
  return sum;
}
