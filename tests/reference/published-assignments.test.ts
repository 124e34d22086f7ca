import { describe, expect, it } from 'vitest';
import { choicesIn, planModel } from '../../server/planning/linear-model.ts';
import type { PlanningProblem } from '../../server/planning/planning-problem.ts';
import { type PreparedProblem, prepare } from '../../server/planning/prepared-problem.ts';
import { defaultPrices } from '../../server/planning/prices.ts';
import { solve } from '../../server/planning/solver.ts';

/** A published cost matrix as a week: rows are observers, columns games, a cost is a trip in miles. */
function asWeek(costs: readonly (readonly number[])[]): PreparedProblem {
  const problem: PlanningProblem = {
    games: (costs[0] ?? []).map((_, game) => ({
      id: `${game}`,
      week: 1,
      date: '2026-09-12',
      place: null,
      teamIds: [],
      crewId: null,
      officialIds: [],
      observersWanted: 1,
      filmAllowed: false,
    })),
    observers: costs.map((_, observer) => ({
      id: `${observer}`,
      home: null,
      modes: ['in person'],
      absences: [],
      conflicts: [],
      weeklyLimit: 1,
      seasonLimit: null,
      travelLimitMiles: null,
    })),
    standing: [],
    locked: [],
    crewTarget: null,
    prices: { ...defaultPrices, information: 0, load: 0 },
  };
  const prepared = prepare(problem);
  return {
    ...prepared,
    candidates: prepared.candidates.map((candidate) => ({
      ...candidate,
      wayCost: costs[Number(candidate.observerId)]?.[Number(candidate.gameId)] ?? 0,
    })),
  };
}

async function solved(costs: readonly (readonly number[])[]) {
  const planned = planModel(asWeek(costs), []);
  const solution = await solve(planned.model, { seconds: 10, absoluteGap: 0 });
  const pairs = choicesIn(planned, solution.values).map((choice) => [
    Number(choice.observerId),
    Number(choice.gameId),
  ]);
  return { objective: solution.objective, pairs: pairs.sort(([a], [b]) => (a ?? 0) - (b ?? 0)) };
}

describe('published assignment problems', () => {
  it('SciPy reference manual, scipy.optimize.linear_sum_assignment, example: total 5', async () => {
    const { objective, pairs } = await solved([
      [4, 1, 3],
      [2, 0, 5],
      [3, 2, 2],
    ]);
    expect(objective).toBeCloseTo(5, 9);
    expect(pairs).toEqual([
      [0, 1],
      [1, 0],
      [2, 2],
    ]);
  });

  it('OR-Tools guide, "Solving an Assignment Problem", five workers and four tasks: total 265', async () => {
    const { objective, pairs } = await solved([
      [90, 80, 75, 70],
      [35, 85, 55, 65],
      [125, 95, 90, 95],
      [45, 110, 95, 115],
      [50, 100, 90, 100],
    ]);
    expect(objective).toBeCloseTo(265, 9);
    expect(pairs).toEqual([
      [0, 3],
      [1, 2],
      [2, 1],
      [3, 0],
    ]);
  });
});
