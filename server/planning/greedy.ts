import { linksOut } from './connectedness.ts';
import { gainOver, looksWorth } from './information.ts';
import type { Choice } from './planning-problem.ts';
import { type Candidate, type PreparedProblem, watchedKey } from './prepared-problem.ts';
import { asStanding, rulesBrokenBeside } from './rules.ts';

/**
 * What a careful person does by hand: game by game, hardest to staff first, the cheapest observer who breaks
 * no rule. The yardstick the solver is measured against, and its starting point.
 */
export function greedyPlan(prepared: PreparedProblem): Choice[] {
  const { prices, crewTarget, locked } = prepared.problem;
  const allowed = new Map<string, Candidate[]>();
  for (const candidate of prepared.candidates)
    if (candidate.broken.length === 0) {
      const list = allowed.get(candidate.gameId) ?? [];
      allowed.set(candidate.gameId, list);
      list.push(candidate);
    }
  const plan: Choice[] = [];
  const planned: ReturnType<typeof asStanding>[] = [];
  const load = new Map([...prepared.standingOf].map(([id, standing]) => [id, standing.length]));
  const times = new Map<string, number>();
  const looks = new Map<string, Map<string, number>>();
  const pairs = new Map<string, Map<string, number>>();
  for (const [key, watched] of prepared.watched) {
    times.set(key, watched.timesSeen);
    pairs.set(key, new Map(watched.pairTimes));
  }
  const unlinked = new Set(prepared.separateGroups);

  const add = (candidate: Candidate) => {
    const { gameId, observerId, mode, game } = candidate;
    plan.push({ gameId, observerId, mode });
    planned.push(asStanding(candidate, game));
    load.set(observerId, (load.get(observerId) ?? 0) + 1);
    const key = watchedKey(game);
    times.set(key, (times.get(key) ?? 0) + 1);
    const games = looks.get(key) ?? new Map<string, number>();
    looks.set(key, games.set(gameId, (games.get(gameId) ?? 0) + 1));
    const seenBy = pairs.get(key);
    seenBy?.set(observerId, (seenBy.get(observerId) ?? 0) + 1);
    for (const group of unlinked)
      if (game.crewId !== null && linksOut(group, observerId, game.crewId)) unlinked.delete(group);
  };
  const price = (candidate: Candidate): number => {
    const { observerId, game } = candidate;
    const key = watchedKey(game);
    const seen = times.get(key) ?? 0;
    const pair = pairs.get(key)?.get(observerId) ?? 0;
    let sum = candidate.wayCost + prices.load * (load.get(observerId) ?? 0) + prices.repeatedPair * pair;
    const watched = prepared.watched.get(key);
    if (watched) {
      const { spread } = prices;
      let worth = 0;
      for (const count of looks.get(key)?.values() ?? []) worth += looksWorth(count, spread);
      const inGame = looks.get(key)?.get(game.id) ?? 0;
      const more = worth + looksWorth(inGame + 1, spread) - looksWorth(inGame, spread);
      sum -=
        prices.information *
        watched.officials *
        (gainOver(watched.gamesWorth, more, spread) - gainOver(watched.gamesWorth, worth, spread));
    }
    if (game.crewId === null) return sum;
    for (const group of unlinked) if (linksOut(group, observerId, game.crewId)) sum -= prices.separateGroup;
    if (crewTarget) {
      if (seen < crewTarget.timesSeen) sum -= prices.missedCrewTarget;
      if (pair === 0 && (pairs.get(key)?.size ?? 0) < crewTarget.differentObservers)
        sum -= prices.missedCrewTarget;
    }
    return sum;
  };

  for (const choice of locked) {
    const candidate = prepared.candidate(choice);
    if (candidate) add(candidate);
  }
  const order = [...prepared.problem.games].sort(
    (a, b) => a.week - b.week || (allowed.get(a.id)?.length ?? 0) - (allowed.get(b.id)?.length ?? 0),
  );
  for (const game of order) {
    let lacking = game.observersWanted - plan.filter((choice) => choice.gameId === game.id).length;
    for (; lacking > 0; lacking -= 1) {
      let best: Candidate | null = null;
      let bestPrice = Infinity;
      for (const candidate of allowed.get(game.id) ?? []) {
        if (plan.some((choice) => choice.gameId === game.id && choice.observerId === candidate.observerId))
          continue;
        if (rulesBrokenBeside(candidate.observer, game, candidate.mode, withStanding(candidate)).length > 0)
          continue;
        const asked = price(candidate);
        if (asked < bestPrice) {
          best = candidate;
          bestPrice = asked;
        }
      }
      if (!best) break;
      add(best);
    }
  }
  return plan;

  function withStanding(candidate: Candidate) {
    return [...(prepared.standingOf.get(candidate.observerId) ?? []), ...planned];
  }
}
