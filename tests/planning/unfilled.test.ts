// @module-tag long
import { describe, expect, it } from 'vitest';
import { bestPlan } from '../../server/planning/optimise.ts';
import type { Choice } from '../../server/planning/planning-problem.ts';
import { type PreparedProblem, prepare } from '../../server/planning/prepared-problem.ts';
import { rules } from '../../server/planning/rules.ts';
import { solve } from '../../server/planning/solver.ts';
import { explainUnfilled } from '../../server/planning/unfilled.ts';
import { everyPlan, keepsRules, smallProblem } from './small-instances.ts';

function canFill(
  prepared: PreparedProblem,
  plan: readonly Choice[],
  gameId: string,
  relaxed: Set<string>,
): boolean {
  const has = (list: readonly Choice[], id: string) => list.filter((choice) => choice.gameId === id).length;
  for (const other of everyPlan(prepared.problem)) {
    const enough = prepared.problem.games.every(
      (game) => has(other, game.id) >= has(plan, game.id) + (game.id === gameId ? 1 : 0),
    );
    if (enough && keepsRules(prepared, other, { gameId, rules: relaxed })) return true;
  }
  return false;
}

function* subsets<T>(items: readonly T[]): Generator<T[]> {
  for (let bits = 0; bits < 2 ** items.length; bits += 1) yield items.filter((_, n) => bits & (1 << n));
}

describe('games left unfilled', () => {
  it('are explained by a smallest set of rules, against every plan tried in turn', {
    tags: ['long'],
  }, async () => {
    let checked = 0;
    for (let seed = 1; seed <= 80; seed += 1) {
      const problem = smallProblem(seed);
      const prepared = prepare(problem);
      const plan = await bestPlan(problem, { seconds: 10, relativeGap: 0 });
      if (plan.lacking.length === 0) continue;
      const explained = await explainUnfilled(prepared, plan.choices, solve, 30);
      expect(explained.map(({ gameId, lacking }) => ({ gameId, observers: lacking }))).toEqual(plan.lacking);
      for (const { gameId, obstacles, together } of explained) {
        const inTheWay = obstacles.map(({ rule }) => rule);
        const allBut = (enforced: readonly string[]) =>
          new Set<string>(rules.filter((rule) => !enforced.includes(rule)));
        expect(canFill(prepared, plan.choices, gameId, allBut(inTheWay))).toBe(false);
        for (const fewer of subsets(rules))
          if (fewer.length < inTheWay.length)
            expect(canFill(prepared, plan.choices, gameId, allBut(fewer))).toBe(true);
        for (const { rule, relief } of obstacles) {
          expect(relief !== null).toBe(canFill(prepared, plan.choices, gameId, new Set([rule])));
          if (relief) expect(relief.broken.every((broken) => broken.rule === rule)).toBe(true);
        }
        for (const relief of together)
          expect(canFill(prepared, plan.choices, gameId, new Set(relief.rules))).toBe(true);
        checked += 1;
      }
    }
    expect(checked).toBeGreaterThan(20);
  });

  it('names the rule and what looking away gives, in a case worked by hand', async () => {
    // One observer with a limit of 100 miles, two degrees of latitude (about 69 miles each) from the venue,
    // and a game not open to film: opening it, or looking away from the limit, would fill it.
    const base = smallProblem(1);
    const problem = {
      ...base,
      standing: [],
      locked: [],
      crewTarget: null,
      games: [
        {
          id: 'far',
          week: 1,
          date: '2026-09-12',
          place: { latitude: 40, longitude: -90 },
          teamIds: ['a', 'b'],
          crewId: 'c',
          officialIds: [],
          observersWanted: 1,
          filmAllowed: false,
        },
      ],
      observers: [
        {
          id: 'only',
          home: { latitude: 38, longitude: -90 },
          modes: ['in person' as const],
          absences: [],
          conflicts: [],
          weeklyLimit: null,
          seasonLimit: null,
          travelLimitMiles: 100,
        },
      ],
    };
    const plan = await bestPlan(problem);
    const [game] = await explainUnfilled(prepare(problem), plan.choices, solve);
    expect(game?.obstacles.map(({ rule }) => rule)).toEqual(['way of watching', 'travel limit']);
    const relief = game?.obstacles[1]?.relief;
    expect(relief?.choice).toEqual({ gameId: 'far', observerId: 'only', mode: 'in person' });
    expect(relief?.broken[0]?.why).toBe('lives 138 mi away, limit 100');
    expect(game?.obstacles[0]?.relief?.choice.mode).toBe('film');
  });

  it('says that too few observers exist when no rule is in the way', async () => {
    const base = smallProblem(1);
    const problem = { ...base, observers: [], standing: [], locked: [], games: base.games.slice(0, 1) };
    const explained = await explainUnfilled(prepare(problem), [], solve);
    for (const game of explained) expect(game.obstacles).toEqual([]);
  });
});
