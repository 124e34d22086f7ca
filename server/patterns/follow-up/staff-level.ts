import type { Severity } from './severity.ts';

/** Misses of one duty that one observer (or pair) noted in one game, of everybody who is followed. */
export interface StaffCell {
  readonly game: string;
  readonly week: number;
  readonly day: string;
  readonly observer: string;
  readonly opportunities: number;
  readonly misses: number;
  /** Log odds of a miss at which a usual duty would stand, as this observer marks in those weeks. */
  readonly usual: number;
}

/** Where a duty stands over some games: log odds above `usual`, estimated from counts large enough for a normal error. */
export interface StaffLevel {
  readonly opportunities: number;
  readonly misses: number;
  readonly level: number;
  /** Fisher's information on `level`, plays taken for independent. */
  readonly information: number;
  /** Sum over games of squares of what each had more than the level gives: `information` were plays independent. */
  readonly squares: number;
  readonly games: number;
  /** Share of the variance between observers that the mean of these cells keeps. */
  readonly observerShare: number;
}

const expit = (x: number) => 1 / (1 + Math.exp(-x));

/** Half a miss of one chance is added: a duty never missed in few chances is not taken to be missed never. */
const added = { misses: 0.5, opportunities: 1 };

/** @param cells not empty */
export function staffLevel(cells: readonly StaffCell[]): StaffLevel {
  const opportunities = cells.reduce((sum, cell) => sum + cell.opportunities, 0);
  const misses = cells.reduce((sum, cell) => sum + cell.misses, 0);
  const wanted = misses + (added.misses * opportunities) / (opportunities + added.opportunities);
  let low = -30;
  let high = 30;
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (expectedMisses(cells, middle) < Math.min(wanted, opportunities - 0.5)) low = middle;
    else high = middle;
  }
  const level = (low + high) / 2;
  const byGame = new Map<string, number>();
  const byObserver = new Map<string, number>();
  let information = 0;
  for (const cell of cells) {
    const rate = expit(cell.usual + level);
    const own = cell.opportunities * rate * (1 - rate);
    information += own;
    byObserver.set(cell.observer, (byObserver.get(cell.observer) ?? 0) + own);
    byGame.set(cell.game, (byGame.get(cell.game) ?? 0) + cell.misses - cell.opportunities * rate);
  }
  const squaresOf = (values: Iterable<number>) => [...values].reduce((sum, value) => sum + value ** 2, 0);
  return {
    opportunities,
    misses,
    level,
    information,
    squares: squaresOf(byGame.values()),
    games: byGame.size,
    observerShare: squaresOf(byObserver.values()) / information ** 2,
  };
}

export const expectedMisses = (cells: readonly StaffCell[], level: number): number =>
  cells.reduce((sum, cell) => sum + cell.opportunities * expit(cell.usual + level), 0);

/** Fisher's information on the level that these cells give where it is `level`. */
export const informationAt = (cells: readonly StaffCell[], level: number): number =>
  cells.reduce((sum, cell) => {
    const rate = expit(cell.usual + level);
    return sum + cell.opportunities * rate * (1 - rate);
  }, 0);

/**
 * How much more games differ than plays taken for independent would: 1 or more. Of the duty's own games and, since those
 * are few, of all the others' too; the larger counts.
 */
export function gameFactor(own: readonly StaffLevel[], others: readonly StaffLevel[]): number {
  const factor = (levels: readonly StaffLevel[]) => {
    const information = levels.reduce((sum, level) => sum + level.information, 0);
    return information > 0
      ? levels.reduce((sum, { squares, games }) => sum + (squares * games) / Math.max(1, games - 1), 0) /
          information
      : 1;
  };
  return Math.max(1, factor(own), factor(others));
}

/** Variance of a level, chance and games and what observers differ at one duty beyond their severity. */
export const varianceOf = (level: StaffLevel, factor: number, { variance }: Severity): number =>
  factor / level.information + variance * level.observerShare;

/**
 * Those taught are the most missed, and move rather otherwise than the rest: half as much again and a little are added.
 * Simulated (`simulate-staff.ts`) with observers a third less keen afterwards, "fewer" was else wrongly said of 12 % of programs.
 */
const withMargin = (between: number) => 1.5 * between + 0.05 ** 2;

/**
 * How duties that nobody taught moved from before to after, beyond what their observers' severity says: the mean on the
 * log-odds, and with what variance any one duty may lie from it. By moments (DerSimonian and Laird 1986, "Meta-analysis in
 * clinical trials", Controlled Clinical Trials 7). Milder observers take more from a duty often missed than from one where
 * half of what is noted never was, and rain touches some duties only: one duty's move is not the others' mean.
 */
export function changeOfOthers(
  duties: readonly { before: StaffLevel; after: StaffLevel }[],
  factor: number,
): { mean: number; variance: number } {
  if (duties.length === 0) return { mean: 0, variance: 0 };
  const moves = duties.map(({ before, after }) => ({
    move: after.level - before.level,
    weight: 1 / (factor / before.information + factor / after.information),
  }));
  const sum = (of: (one: (typeof moves)[number]) => number) =>
    moves.reduce((total, one) => total + of(one), 0);
  const weights = sum(({ weight }) => weight);
  const plain = sum(({ weight, move }) => weight * move) / weights;
  const spread = sum(({ weight, move }) => weight * (move - plain) ** 2) - (moves.length - 1);
  const scale = weights - sum(({ weight }) => weight ** 2) / weights;
  const between = scale > 0 ? Math.max(0, spread / scale) : 0;
  const widened = moves.map(({ move, weight }) => ({ move, weight: 1 / (1 / weight + between) }));
  const all = widened.reduce((total, { weight }) => total + weight, 0);
  const mean = widened.reduce((total, { move, weight }) => total + weight * move, 0) / all;
  return { mean, variance: withMargin(between) + 1 / all };
}
