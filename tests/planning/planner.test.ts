import { afterAll, describe, expect, it } from 'vitest';
import { Planner } from '../../server/observers/planner.ts';
import { bestPlan } from '../../server/planning/optimise.ts';
import { planningInstance } from '../bench/planning-instances.ts';
import { smallProblem } from './small-instances.ts';

const planner = new Planner();
afterAll(() => planner.close());

describe('the planner thread', () => {
  it('gives the plan that the same code gives in this thread, with unfilled games explained', async () => {
    const problem = smallProblem(11);
    const answer = await planner.plan(problem);
    const here = await bestPlan(problem);
    expect(answer.plan.choices).toEqual(here.choices);
    expect(answer.unfilled.map(({ gameId }) => gameId)).toEqual(
      answer.plan.lacking.map(({ gameId }) => gameId),
    );
  });

  it('leaves this thread free while it works', async () => {
    let turns = 0;
    const timer = setInterval(() => {
      turns += 1;
    }, 1);
    const size = {
      games: 60,
      observers: 120,
      crews: 60,
      teams: 120,
      firstWeek: 6,
      gamesPerWeek: 60,
      weeksBehind: 5,
    };
    const { plan } = await planner.plan(planningInstance(size, 3), { seconds: 60, relativeGap: 0.01 });
    clearInterval(timer);
    expect(plan.proven).toBe(true);
    // The same search in this thread would let the timer turn a handful of times at most.
    expect(turns).toBeGreaterThan(20);
  });

  it('answers several at once, and goes on after a malformed problem', async () => {
    const bad = {
      ...smallProblem(5),
      locked: [{ gameId: 'none', observerId: 'none', mode: 'film' as const }],
    };
    const [first, refused, second] = await Promise.allSettled([
      planner.plan(smallProblem(5)),
      planner.plan(bad),
      planner.plan(smallProblem(6)),
    ]);
    expect(first.status).toBe('fulfilled');
    expect(second.status).toBe('fulfilled');
    expect(refused.status === 'rejected' && String(refused.reason)).toContain('locked: no game none');
  });
});
