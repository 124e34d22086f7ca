import { type Group, linksOut } from './connectedness.ts';
import { gainOver, looksWorth } from './information.ts';
import type { Choice } from './planning-problem.ts';
import { type PreparedProblem, watchedKey } from './prepared-problem.ts';

/** What a plan costs, part by part, all in miles (see `prices.ts`). Information is a gain, so not positive. */
export interface PlanCost {
  readonly travel: number;
  readonly film: number;
  readonly repeatedPairs: number;
  readonly load: number;
  readonly information: number;
  readonly separateGroups: number;
  readonly missedCrewTargets: number;
  readonly unfilled: number;
  readonly total: number;
}

/** Sum of 0, 1, 2, ...: the price of going from `from` to `from + more` when the n-th costs n - 1. */
function stairs(from: number, more: number): number {
  return more * from + (more * (more - 1)) / 2;
}

/**
 * The objective the planner minimises, computed plainly from a plan; the linear model must agree with it
 * (tests hold them together). Choices outside the rules are costed all the same: rules are checked elsewhere.
 */
export function costOf(
  prepared: PreparedProblem,
  plan: readonly Choice[],
  groups: readonly Group[] = prepared.separateGroups,
): PlanCost {
  const { prices, crewTarget } = prepared.problem;
  let travel = 0;
  let film = 0;
  const perGame = new Map<string, number>();
  const perObserver = new Map<string, number>();
  const perWatched = new Map<string, Map<string, number>>();
  const looks = new Map<string, Map<string, number>>();
  for (const choice of plan) {
    const candidate = prepared.candidate(choice);
    if (!candidate)
      throw new RangeError(`plan: game ${choice.gameId} or observer ${choice.observerId} is unknown`);
    if (choice.mode === 'film') film += candidate.wayCost;
    else travel += candidate.wayCost;
    perGame.set(choice.gameId, (perGame.get(choice.gameId) ?? 0) + 1);
    perObserver.set(choice.observerId, (perObserver.get(choice.observerId) ?? 0) + 1);
    const key = watchedKey(candidate.game);
    const pairs = perWatched.get(key) ?? new Map<string, number>();
    perWatched.set(key, pairs);
    pairs.set(choice.observerId, (pairs.get(choice.observerId) ?? 0) + 1);
    const games = looks.get(key) ?? new Map<string, number>();
    looks.set(key, games);
    games.set(choice.gameId, (games.get(choice.gameId) ?? 0) + 1);
  }

  let load = 0;
  for (const [observerId, more] of perObserver)
    load += prices.load * stairs(prepared.standingOf.get(observerId)?.length ?? 0, more);

  let repeatedPairs = 0;
  let information = 0;
  let missed = 0;
  for (const [key, watched] of prepared.watched) {
    const pairs = perWatched.get(key) ?? new Map<string, number>();
    let times = watched.timesSeen;
    let different = watched.pairTimes.size;
    for (const [observerId, more] of pairs) {
      const before = watched.pairTimes.get(observerId) ?? 0;
      repeatedPairs += prices.repeatedPair * stairs(before, more);
      if (before === 0) different += 1;
      times += more;
    }
    const { gamesWorth, officials } = watched;
    let worth = 0;
    for (const count of looks.get(key)?.values() ?? []) worth += looksWorth(count, prices.spread);
    information -= prices.information * officials * gainOver(gamesWorth, worth, prices.spread);
    if (crewTarget && watched.crewId !== null)
      missed +=
        Math.max(0, crewTarget.timesSeen - times) + Math.max(0, crewTarget.differentObservers - different);
  }

  let separate = 0;
  for (const group of groups) {
    const linked = plan.some((choice) => {
      const crewId = prepared.games.get(choice.gameId)?.crewId;
      return crewId != null && linksOut(group, choice.observerId, crewId);
    });
    if (!linked) separate += 1;
  }

  let short = 0;
  for (const game of prepared.problem.games)
    short += Math.max(0, game.observersWanted - (perGame.get(game.id) ?? 0));

  const parts = {
    travel,
    film,
    repeatedPairs,
    load,
    information,
    separateGroups: separate * prices.separateGroup,
    missedCrewTargets: missed * prices.missedCrewTarget,
    unfilled: short * prices.unfilled,
  };
  return { ...parts, total: Object.values(parts).reduce((sum, part) => sum + part, 0) };
}
