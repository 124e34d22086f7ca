import { groupBy } from './group-by.ts';
import { NormalDraws } from './normal-draws.ts';
import { type Combination, predict } from './prediction.ts';
import { posteriorRanks } from './ranks.ts';
import {
  effectOfRow,
  factorOf,
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
import { type LeftOut, predictWithout } from './without-rows.ts';

/** One game of an official, in one position: what it does to the adjusted grade. */
export interface GameShare {
  game: string;
  /** Part of the uncertainty (error variance) of the adjusted grade that is this game's, 0 to 1. */
  uncertainty: number;
  /** As it would be without it; null where it is the only one. */
  without: { grade: number; standardError: number; place: number } | null;
}

/** Where the uncertainty of an adjusted grade comes from; the parts, with those of the games, add up to 1. */
export interface OfficialShares {
  games: GameShare[];
  /** What the games together have not shown yet of the official. */
  official: number;
  /** How strict the observers were who watched. */
  observers: number;
  /** What is known by way of others: the position's average, the same observers and games with other officials. */
  others: number;
}

/**
 * What gives, from a fit, each game's share of an official's grade and of its uncertainty. The error of a prediction
 * k'β + m'u is a sum of independent parts: of an effect u_j its covariance with the prediction's error, squared, over
 * its variance; of a row's chance likewise (both follow from Henderson's equations, 1975). A game's are the chance in
 * its rows, the official's evening and how hard it was for everyone.
 *
 * @returns null for an official without a row in the position, or where nothing is uncertain
 */
export function gameSharesFrom(
  fit: SeasonFit,
  usable: readonly UsableRow[],
): (position: string, official: string, ranked: readonly string[]) => OfficialShares | null {
  const rowsOf = groupBy(usable, ({ official, position }) => `${official}\n${position}`);
  const fixed = new Map(fit.fixed.map(({ name, estimate }) => [name, estimate ?? 0]));
  const effects = Object.keys(seasonFactors).map((name) => effectOfRow(fit, name as SeasonFactor));
  const varianceOf = (factor: SeasonFactor) => factorOf(fit, factor).variance;
  const uncertainty = varianceUncertainty(fit);
  const leftOut = (row: UsableRow): LeftOut => {
    const usual = fit.usualLoss.get(row.position)!;
    const { response, weight } = onScale(fit.usualLoss, row);
    return {
      combination: seasonCombination(row),
      variance: fit.residualVariance / weight,
      residual:
        response - effects.reduce((sum, effect) => sum + effect(row) / usual, fixed.get(row.position)!),
    };
  };

  return (position, official, ranked) => {
    const rows = rowsOf.get(`${official}\n${position}`);
    if (!rows || !fit.state.solution) return null;
    const usual = fit.usualLoss.get(position)!;
    const grade = (of: string): Combination => gradeCombination(fit, position, of);
    const byGame = [...groupBy(rows, (row) => row.game)];
    // All who could have watched: a grade is what they would mark on average.
    const observers = fit.observersOf.get(official)!.map((observer) => ({ ...rows[0]!, observer }));
    const source = (factor: SeasonFactor, row: UsableRow, game?: string) => ({
      factor,
      game,
      combination: { effects: [{ factor: seasonFactors[factor], level: seasonLevel(factor, row) }] },
    });
    const sources = [
      source('official', rows[0]!),
      ...observers.flatMap((row) => [source('observer', row), source('observerInPosition', row)]),
      ...byGame.flatMap(([game, [row]]) => [
        source('game', row!, game),
        source('officialInGame', row!, game),
      ]),
    ].filter(({ factor }) => varianceOf(factor) > 0);
    const chance = rows.map(leftOut);
    const { covariance } = predict(fit, [
      grade(official),
      ...sources.map(({ combination }) => combination),
      ...chance.map(({ combination }) => combination),
    ]);
    const whole = covariance[0]!;
    if (!(whole > 0)) return null;
    const part = (at: number, variance: number) => covariance[1 + at]! ** 2 / variance / whole;
    const share = (of: (source: (typeof sources)[number]) => boolean) =>
      sources.reduce((sum, one, at) => (of(one) ? sum + part(at, varianceOf(one.factor)) : sum), 0);
    const more = uncertainty([grade(official)])[0]!;
    const ranking = ranked.includes(official) ? ranked : [...ranked, official];
    const games = byGame.map(([game, own]): GameShare => {
      const inRows = rows.reduce(
        (sum, row, i) => (row.game === game ? sum + part(sources.length + i, chance[i]!.variance) : sum),
        0,
      );
      const uncertainty = inRows + share((source) => source.game === game);
      const without = byGame.length > 1 ? predictWithout(fit, ranking.map(grade), own.map(leftOut)) : null;
      return { game, uncertainty, without: without && standingIn(without, ranking, official, usual, more) };
    });
    const own = share(({ factor }) => factor === 'official');
    const observing = share(({ factor }) => factor === 'observer' || factor === 'observerInPosition');
    const inGames = games.reduce((sum, game) => sum + game.uncertainty, 0);
    return {
      games,
      official: own,
      observers: observing,
      others: Math.max(0, 1 - own - observing - inGames),
    };
  };
}

/** @param more what the variances, being estimated, add to the variance of the grade */
function standingIn(
  { estimates, covariance }: { estimates: Float64Array; covariance: Float64Array },
  ranking: readonly string[],
  official: string,
  usual: number,
  more: number,
) {
  const at = ranking.indexOf(official);
  const ranks = posteriorRanks({ estimates, covariance }, { top: 1, draws: 0, normals: new NormalDraws(1) });
  return {
    grade: 100 + usual * estimates[at]!,
    standardError: usual * Math.sqrt(Math.max(0, covariance[at * ranking.length + at]!) + more),
    place: ranks[at]!.place,
  };
}
