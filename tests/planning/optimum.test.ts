import { describe, expect, it } from 'vitest';
import { greedyPlan } from '../../server/planning/greedy.ts';
import { choicesIn, planModel } from '../../server/planning/linear-model.ts';
import { bestPlan } from '../../server/planning/optimise.ts';
import { costOf } from '../../server/planning/plan-cost.ts';
import { prepare } from '../../server/planning/prepared-problem.ts';
import { solve } from '../../server/planning/solver.ts';
import { bruteForce, isSame, keepsRules, smallProblem } from './small-instances.ts';

const seeds = Array.from({ length: 200 }, (_, n) => n + 1);

describe('the linear model, against every plan tried in turn', () => {
  it.each(seeds)('instance %i: equal optimum, rules kept, locks kept, greedy never better', async (seed) => {
    const problem = smallProblem(seed);
    const prepared = prepare(problem);
    const planned = planModel(prepared, prepared.separateGroups);
    const solution = await solve(planned.model, { seconds: 20, absoluteGap: 1e-6 });
    const plan = choicesIn(planned, solution.values);
    const best = bruteForce(prepared);
    expect(solution.status).toBe('optimal');
    expect(solution.objective).toBeCloseTo(costOf(prepared, plan).total, 4);
    expect(solution.objective).toBeCloseTo(best, 4);
    expect(keepsRules(prepared, plan)).toBe(true);
    for (const lock of problem.locked) expect(plan.some((choice) => isSame(choice, lock))).toBe(true);
    const greedy = greedyPlan(prepared);
    expect(keepsRules(prepared, greedy)).toBe(true);
    expect(costOf(prepared, greedy).total).toBeGreaterThanOrEqual(best - 1e-6);
  });
});

describe('the plan', () => {
  it('reports a gap that the bound bears out', async () => {
    for (const seed of seeds.slice(0, 40)) {
      const plan = await bestPlan(smallProblem(seed), { seconds: 10, relativeGap: 0 });
      expect(plan.proven).toBe(true);
      expect(plan.bound).toBeLessThanOrEqual(plan.cost.total + 1e-6);
      expect(plan.gap).toBeLessThan(1e-6);
    }
  });

  it('gives the same plan each time', async () => {
    const [first, second] = [await bestPlan(smallProblem(7)), await bestPlan(smallProblem(7))];
    expect(second.choices).toEqual(first.choices);
  });

  it('is empty, and said so, when there is nobody to send', async () => {
    const problem = { ...smallProblem(3), observers: [], standing: [], locked: [] };
    const plan = await bestPlan(problem);
    expect(plan.choices).toEqual([]);
    expect(plan.lacking.reduce((sum, { observers }) => sum + observers, 0)).toBe(
      problem.games.reduce((sum, game) => sum + game.observersWanted, 0),
    );
  });

  it('is empty for no games', async () => {
    const plan = await bestPlan({ ...smallProblem(3), games: [], locked: [] });
    expect(plan.choices).toEqual([]);
    expect(plan.lacking).toEqual([]);
    expect(Number.isFinite(plan.cost.total)).toBe(true);
  });

  it('refuses a lock on a game outside the plan, by name', async () => {
    const problem = smallProblem(3);
    await expect(
      bestPlan({ ...problem, locked: [{ gameId: 'elsewhere', observerId: 'b0', mode: 'film' }] }),
    ).rejects.toThrow('locked: no game elsewhere');
  });
});
