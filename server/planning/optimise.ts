import { type Group, groupsOf } from './connectedness.ts';
import { greedyPlan } from './greedy.ts';
import { choicesIn, planModel } from './linear-model.ts';
import { costOf, type PlanCost } from './plan-cost.ts';
import type { Choice, PlanningProblem } from './planning-problem.ts';
import { type PreparedProblem, prepare } from './prepared-problem.ts';
import { solve } from './solver.ts';

export interface PlanSettings {
  /** Wall-clock limit for the whole search. */
  readonly seconds: number;
  /** Stop when the plan is proven to be within this share of the best possible. */
  readonly relativeGap: number;
}

export const defaultPlanSettings: PlanSettings = { seconds: 10, relativeGap: 0.001 };

export interface Plan {
  readonly choices: readonly Choice[];
  readonly cost: PlanCost;
  /** No plan can cost less, in miles. */
  readonly bound: number;
  /** (cost - bound) / what the plan spends on travel, film, repeats and load. 0 is proven best. */
  readonly gap: number;
  /** False when time ran out first; the gap says what may be left on the table. */
  readonly proven: boolean;
  readonly lacking: readonly { readonly gameId: string; readonly observers: number }[];
  /** Groups of crews that stay without a link to the largest group under this plan. */
  readonly separate: readonly { readonly crewIds: readonly string[] }[];
  readonly seconds: number;
}

/** What the plan spends: the denominator of the gap. Penalties and gains would flatter it. */
export function spent(cost: PlanCost): number {
  return cost.travel + cost.film + cost.repeatedPairs + cost.load;
}

function groupsUnder(prepared: PreparedProblem, choices: readonly Choice[]): Group[] {
  const pairs: { observerId: string; crewId: string }[] = [];
  const crewIds = new Set<string>();
  for (const { crewId, observerId } of prepared.problem.standing)
    if (crewId !== null) {
      crewIds.add(crewId);
      pairs.push({ crewId, observerId });
    }
  for (const game of prepared.problem.games) if (game.crewId !== null) crewIds.add(game.crewId);
  for (const choice of choices) {
    const crewId = prepared.games.get(choice.gameId)?.crewId;
    if (crewId != null) pairs.push({ crewId, observerId: choice.observerId });
  }
  return groupsOf([...crewIds], pairs);
}

/**
 * The best plan within the rules. Connectedness comes in rounds: first every group that is apart today asks
 * for a link; when the plan still leaves groups apart (two of them linked only to each other), those ask too,
 * while time and a few rounds last.
 */
export async function bestPlan(problem: PlanningProblem, settings = defaultPlanSettings): Promise<Plan> {
  const started = performance.now();
  const elapsed = () => (performance.now() - started) / 1000;
  const prepared = prepare(problem);
  const start = greedyPlan(prepared);
  const scale = Math.max(1, spent(costOf(prepared, start)) / 2);
  const groups: Group[] = [...prepared.separateGroups];
  let best: Plan | null = null;
  for (let round = 0; round < 4; round += 1) {
    const planned = planModel(prepared, groups);
    const solution = await solve(planned.model, {
      seconds: Math.max(0.5, settings.seconds - elapsed()),
      absoluteGap: settings.relativeGap * scale,
      start: startValues(planned.candidates, best?.choices ?? start),
    });
    const answered = solution.status === 'optimal' || solution.status === 'feasible';
    if (!answered && best) break;
    const choices = answered ? choicesIn(planned, solution.values) : start;
    const cost = costOf(prepared, choices, groups);
    const apart = groupsUnder(prepared, choices).slice(1);
    const bound = Math.min(cost.total, answered ? solution.bound : -Infinity);
    best = {
      choices,
      cost,
      bound,
      gap: (cost.total - bound) / Math.max(1, spent(cost)),
      proven: solution.status === 'optimal',
      lacking: problem.games.flatMap((game) => {
        const observers = game.observersWanted - choices.filter((choice) => choice.gameId === game.id).length;
        return observers > 0 ? [{ gameId: game.id, observers }] : [];
      }),
      separate: apart.map((group) => ({ crewIds: [...group.crewIds].sort() })),
      seconds: elapsed(),
    };
    const known = new Set(groups.map(groupName));
    const fresh = apart.filter((group) => !known.has(groupName(group)));
    if (fresh.length === 0 || elapsed() > settings.seconds / 2) break;
    groups.push(...fresh);
  }
  return best as Plan;
}

function groupName(group: Group): string {
  return JSON.stringify([[...group.crewIds].sort(), [...group.observerIds].sort()]);
}

function startValues(candidates: readonly Choice[], choices: readonly Choice[]) {
  const chosen = new Set(choices.map((choice) => `${choice.gameId}\n${choice.observerId}\n${choice.mode}`));
  const indices = candidates.map((_, at) => at);
  const values = candidates.map((choice) =>
    chosen.has(`${choice.gameId}\n${choice.observerId}\n${choice.mode}`) ? 1 : 0,
  );
  return { indices, values };
}
