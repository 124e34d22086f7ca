import { costOf, type PlanCost } from './plan-cost.ts';
import type { Choice } from './planning-problem.ts';
import type { PreparedProblem } from './prepared-problem.ts';
import { asStanding, type BrokenRule, rulesBrokenBeside } from './rules.ts';

/** Another way to fill one place in a plan, priced before anyone chooses it. */
export interface Alternative {
  readonly choice: Choice;
  /** One way; null when a home or venue has no coordinates. */
  readonly miles: number | null;
  /** The change in each part of the plan's cost, in miles; below 0 is better than now. */
  readonly change: PlanCost;
  /** Rules this choice would break beside the rest of the plan. A person may still choose it, with a reason. */
  readonly broken: readonly BrokenRule[];
  /** Games by this observer in the season, and with this crew, if chosen. */
  readonly seasonGames: number;
  readonly gamesWithCrew: number;
}

function difference(after: PlanCost, before: PlanCost): PlanCost {
  return {
    travel: after.travel - before.travel,
    film: after.film - before.film,
    repeatedPairs: after.repeatedPairs - before.repeatedPairs,
    load: after.load - before.load,
    information: after.information - before.information,
    separateGroups: after.separateGroups - before.separateGroups,
    missedCrewTargets: after.missedCrewTargets - before.missedCrewTargets,
    unfilled: after.unfilled - before.unfilled,
    total: after.total - before.total,
  };
}

/** All the rules a choice breaks in a plan: by itself, beside what stands and beside the rest of the plan. */
export function rulesBrokenBy(
  prepared: PreparedProblem,
  plan: readonly Choice[],
  choice: Choice,
): BrokenRule[] {
  const candidate = prepared.candidate(choice);
  if (!candidate)
    throw new RangeError(`choice: game ${choice.gameId} or observer ${choice.observerId} is unknown`);
  const others = plan.flatMap((other) => {
    const game = prepared.games.get(other.gameId);
    return game && other.gameId !== choice.gameId ? [asStanding(other, game)] : [];
  });
  const beside = rulesBrokenBeside(candidate.observer, candidate.game, choice.mode, [
    ...(prepared.standingOf.get(choice.observerId) ?? []),
    ...others,
  ]);
  const mentioned = new Set(beside.map(({ rule }) => rule));
  // The fuller count, with the plan, replaces the one made beside standing assignments alone.
  return [...candidate.broken.filter(({ rule }) => !mentioned.has(rule)), ...beside];
}

/**
 * Every observer and way for one place of a plan: rule-keeping ones first, cheapest first.
 * @param replacing the observer whose place it is, or null to fill an empty place.
 */
export function alternatives(
  prepared: PreparedProblem,
  plan: readonly Choice[],
  gameId: string,
  replacing: string | null,
): Alternative[] {
  const game = prepared.games.get(gameId);
  if (!game) throw new RangeError(`gameId: no game ${gameId} in this plan`);
  const rest = plan.filter((choice) => choice.gameId !== gameId || choice.observerId !== replacing);
  const before = costOf(prepared, plan);
  const list: Alternative[] = [];
  for (const candidate of prepared.candidates) {
    if (candidate.gameId !== gameId) continue;
    if (rest.some((choice) => choice.gameId === gameId && choice.observerId === candidate.observerId))
      continue;
    const choice: Choice = { gameId, observerId: candidate.observerId, mode: candidate.mode };
    const standing = prepared.standingOf.get(choice.observerId) ?? [];
    const mine = rest.filter((other) => other.observerId === choice.observerId);
    const withCrew = (crewId: string | null | undefined) => game.crewId !== null && crewId === game.crewId;
    list.push({
      choice,
      miles: candidate.miles,
      change: difference(costOf(prepared, [...rest, choice]), before),
      broken: rulesBrokenBy(prepared, rest, choice),
      seasonGames: standing.length + mine.length + 1,
      gamesWithCrew:
        standing.filter((entry) => withCrew(entry.crewId)).length +
        mine.filter((other) => withCrew(prepared.games.get(other.gameId)?.crewId)).length +
        1,
    });
  }
  return list.sort(
    (a, b) =>
      Math.min(a.broken.length, 1) - Math.min(b.broken.length, 1) ||
      a.change.total - b.change.total ||
      (a.choice.observerId < b.choice.observerId ? -1 : 1),
  );
}
