import { describe, expect, it } from 'vitest';
import { alternatives } from '../../server/planning/alternatives.ts';
import { greedyPlan } from '../../server/planning/greedy.ts';
import { choicesIn, planModel } from '../../server/planning/linear-model.ts';
import { costOf } from '../../server/planning/plan-cost.ts';
import { prepare } from '../../server/planning/prepared-problem.ts';
import { solve } from '../../server/planning/solver.ts';
import { keepsRules, smallProblem } from './small-instances.ts';

describe('alternatives to one place of a plan', () => {
  it('are priced exactly as the plan they lead to, and warn exactly when that plan breaks a rule', () => {
    let seen = 0;
    for (let seed = 1; seed <= 120; seed += 1) {
      const prepared = prepare({ ...smallProblem(seed), locked: [] });
      const plan = greedyPlan(prepared);
      for (const place of plan) {
        const rest = plan.filter((choice) => choice !== place);
        for (const other of alternatives(prepared, plan, place.gameId, place.observerId)) {
          const after = [...rest, other.choice];
          expect(other.change.total).toBeCloseTo(
            costOf(prepared, after).total - costOf(prepared, plan).total,
            6,
          );
          expect(other.broken.length === 0).toBe(keepsRules(prepared, after));
          seen += 1;
        }
      }
    }
    expect(seen).toBeGreaterThan(500);
  });

  it('cannot improve one place of the best plan without breaking a rule', { tags: ['long'] }, async () => {
    for (let seed = 1; seed <= 60; seed += 1) {
      const problem = { ...smallProblem(seed), locked: [] };
      const prepared = prepare(problem);
      const planned = planModel(prepared, prepared.separateGroups);
      const solution = await solve(planned.model, { seconds: 10, absoluteGap: 0 });
      const plan = choicesIn(planned, solution.values);
      for (const place of plan)
        for (const other of alternatives(prepared, plan, place.gameId, place.observerId))
          if (other.broken.length === 0) expect(other.change.total).toBeGreaterThan(-1e-4);
    }
  });

  it('put the rule-keeping and cheaper first, and leave out who is on the game already', () => {
    for (let seed = 1; seed <= 30; seed += 1) {
      const prepared = prepare({ ...smallProblem(seed), locked: [] });
      const plan = greedyPlan(prepared);
      for (const game of prepared.problem.games) {
        const list = alternatives(prepared, plan, game.id, null);
        const ranks = list.map((other) => [Math.min(1, other.broken.length), other.change.total] as const);
        for (let at = 1; at < ranks.length; at += 1) {
          const [before, now] = [ranks[at - 1]!, ranks[at]!];
          expect(before[0] < now[0] || (before[0] === now[0] && before[1] <= now[1] + 1e-9)).toBe(true);
        }
        for (const { choice } of list)
          expect(plan.some((had) => had.gameId === game.id && had.observerId === choice.observerId)).toBe(
            false,
          );
      }
    }
  });
});
