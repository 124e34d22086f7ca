import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Group } from '../../server/planning/connectedness.ts';
import { groupsOf } from '../../server/planning/connectedness.ts';
import { bestPlan } from '../../server/planning/optimise.ts';
import type { PlanningProblem } from '../../server/planning/planning-problem.ts';
import { prepare } from '../../server/planning/prepared-problem.ts';
import { defaultPrices } from '../../server/planning/prices.ts';
import { solve } from '../../server/planning/solver.ts';
import { explainUnfilled } from '../../server/planning/unfilled.ts';
import { keepsRules, smallProblem } from './small-instances.ts';

const settings = { seconds: 20, relativeGap: 0.001 };

/** Problems at the edges: prices of zero or huge, limits of zero, everybody in one place, nobody anywhere. */
const awkward = fc
  .record({
    seed: fc.integer({ min: 1, max: 1e6 }),
    film: fc.constantFrom(0, 1e-6, 120, 5000),
    load: fc.constantFrom(0, 12, 5000),
    repeatedPair: fc.constantFrom(0, 40, 5000),
    information: fc.constantFrom(0, 120, 5000),
    official: fc.constantFrom(0, 1e-9, 3, 1e3),
    residual: fc.constantFrom(0, 4, 1e6),
    weeklyLimit: fc.constantFrom(null, 0, 1, 50),
    travelLimitMiles: fc.constantFrom(null, 0, 1e4),
    wanted: fc.constantFrom(0, 1, 3, 10),
    target: fc.constantFrom(
      null,
      { timesSeen: 0, differentObservers: 0 },
      { timesSeen: 100, differentObservers: 100 },
    ),
    together: fc.boolean(),
  })
  .map((odd): PlanningProblem => {
    const base = smallProblem(odd.seed);
    const place = { latitude: 40, longitude: -90 };
    return {
      ...base,
      crewTarget: odd.target,
      locked: [],
      prices: {
        ...defaultPrices,
        film: odd.film,
        load: odd.load,
        repeatedPair: odd.repeatedPair,
        information: odd.information,
        spread: {
          official: odd.official,
          observer: 0,
          game: 1.5,
          officialInGame: odd.residual,
          observerInPosition: 0,
          residual: odd.residual,
        },
      },
      games: base.games.map((game) => ({
        ...game,
        observersWanted: odd.wanted,
        place: odd.together ? place : game.place,
      })),
      observers: base.observers.map((observer) => ({
        ...observer,
        home: odd.together ? place : observer.home,
        weeklyLimit: odd.weeklyLimit,
        travelLimitMiles: odd.travelLimitMiles,
      })),
    };
  });

describe('planning at the edges', () => {
  it('never breaks a rule, never gives a figure that is not a number, and explains what it leaves open', {
    tags: ['long'],
  }, async () => {
    await fc.assert(
      fc.asyncProperty(awkward, async (problem) => {
        const plan = await bestPlan(problem, settings);
        const prepared = prepare(problem);
        expect(keepsRules(prepared, plan.choices)).toBe(true);
        for (const value of [...Object.values(plan.cost), plan.bound, plan.gap])
          expect(Number.isFinite(value)).toBe(true);
        expect(plan.gap).toBeGreaterThanOrEqual(0);
        for (const game of problem.games) {
          const sent = plan.choices.filter((choice) => choice.gameId === game.id);
          expect(sent.length).toBeLessThanOrEqual(game.observersWanted);
          expect(new Set(sent.map(({ observerId }) => observerId)).size).toBe(sent.length);
        }
        const explained = await explainUnfilled(prepared, plan.choices, solve, 20);
        expect(explained.map(({ gameId }) => gameId)).toEqual(plan.lacking.map(({ gameId }) => gameId));
      }),
      { numRuns: 60, seed: 8 },
    );
  });
});

describe('connectedness', () => {
  const game = (id: string, crewId: string, latitude: number) => ({
    id,
    week: 5,
    date: '2026-10-03',
    place: { latitude, longitude: -90 },
    teamIds: [`${id} home`, `${id} away`],
    crewId,
    officialIds: [],
    observersWanted: 1,
    filmAllowed: false,
  });
  const observer = (id: string, latitude: number) => ({
    id,
    home: { latitude, longitude: -90 },
    modes: ['in person' as const],
    absences: [],
    conflicts: [],
    weeklyLimit: 1,
    seasonLimit: null,
    travelLimitMiles: null,
  });
  const seen = (observerId: string, crewId: string, week: number) => ({
    observerId,
    gameId: `past ${observerId} ${crewId} ${week}`,
    week,
    date: '2026-09-05',
    mode: 'in person' as const,
    crewId,
  });
  const groupsAfter = (
    problem: PlanningProblem,
    choices: readonly { gameId: string; observerId: string }[],
  ): Group[] =>
    groupsOf(
      [...new Set(problem.games.flatMap(({ crewId }) => (crewId === null ? [] : [crewId])))],
      [
        ...problem.standing.flatMap(({ observerId, crewId }) =>
          crewId === null ? [] : [{ observerId, crewId }],
        ),
        ...choices.flatMap((choice) => {
          const crewId = problem.games.find(({ id }) => id === choice.gameId)?.crewId;
          return crewId == null ? [] : [{ observerId: choice.observerId, crewId }];
        }),
      ],
    );

  it('comes before distance: observers cross over to tie two groups, though each lives beside the other game', async () => {
    const problem: PlanningProblem = {
      games: [game('north', 'crew north', 41), game('south', 'crew south', 39)],
      observers: [observer('northerner', 41), observer('southerner', 39)],
      standing: [seen('northerner', 'crew north', 1), seen('southerner', 'crew south', 1)],
      locked: [],
      crewTarget: null,
      prices: defaultPrices,
    };
    const plan = await bestPlan(problem, settings);
    expect(groupsAfter(problem, plan.choices)).toHaveLength(1);
    expect(plan.separate).toEqual([]);
    const cheap = await bestPlan(
      { ...problem, prices: { ...defaultPrices, separateGroup: 0, repeatedPair: 0 } },
      settings,
    );
    expect(groupsAfter(problem, cheap.choices)).toHaveLength(2);
    expect(cheap.separate).toHaveLength(1);
  });

  it('is not satisfied by groups tied only to each other', async () => {
    // Crews 1 and 2 are tied and are the largest group; 3 and 4 are apart. The near observers would tie 3 to 4 only.
    const problem: PlanningProblem = {
      games: [game('g3', 'crew 3', 40), game('g4', 'crew 4', 40.1)],
      observers: [observer('of 3', 40), observer('of 4', 40.1), observer('of 1 and 2', 43)],
      standing: [
        seen('of 3', 'crew 3', 1),
        seen('of 4', 'crew 4', 1),
        seen('of 1 and 2', 'crew 1', 1),
        seen('of 1 and 2', 'crew 2', 2),
      ],
      locked: [],
      crewTarget: null,
      prices: defaultPrices,
    };
    const plan = await bestPlan(problem, settings);
    const main = groupsOf(
      ['crew 1', 'crew 2', 'crew 3', 'crew 4'],
      [
        ...problem.standing.map(({ observerId, crewId }) => ({ observerId, crewId: crewId as string })),
        ...plan.choices.map(({ gameId, observerId }) => ({
          observerId,
          crewId: gameId === 'g3' ? 'crew 3' : 'crew 4',
        })),
      ],
    )[0];
    expect(main?.crewIds.size).toBeGreaterThanOrEqual(3);
  });
});
