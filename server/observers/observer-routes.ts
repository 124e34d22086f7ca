import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { modes } from '../planning/planning-problem.ts';
import { rules } from '../planning/rules.ts';
import { currentSeason } from '../schedule/seasons.ts';
import { typedText } from '../text/typed-text.ts';
import { notFound } from '../web/problem.ts';
import { coverageOf } from './coverage.ts';
import { loadAssignments } from './own-assignments.ts';
import type { Planner } from './planner.ts';
import { planningProblemOf, presentPlan } from './season-problem.ts';
import { seasonSpread } from './season-spread.ts';
import { answerAssignment, changeAssignments } from './stores/assignment-store.ts';
import { loadSeason } from './stores/season-store.ts';

const id = z.uuid();
const choice = z.object({ gameId: id, observerId: id, mode: z.enum(modes) });
const broken = z.object({ rule: z.enum(rules), why: z.string() });
const miles = z.number().meta({ description: 'in miles' });
const cost = z.object({
  travel: miles,
  film: miles,
  repeatedPairs: miles,
  load: miles,
  information: miles,
  separateGroups: miles,
  missedCrewTargets: miles,
  unfilled: miles,
  total: miles,
});
const relief = z.object({
  rules: z.array(z.enum(rules)),
  choice,
  broken: z.array(broken),
  extraCost: miles,
  otherChanges: z.number().int(),
});
const tags = ['observers'];

/** The API of observer planning: suggestions, assignments, answers, coverage. */
export function observerRoutes(planner: Planner) {
  return async (plain: FastifyInstance) => {
    const app = plain.withTypeProvider<ZodTypeProvider>();
    const { database } = app;
    const coordinator = { policy: policies.coordinator };

    app.get(
      '/api/observer-plan',
      {
        config: coordinator,
        schema: {
          tags,
          summary:
            'The best plan for a week or the rest of the season, beside the present one; changes nothing',
          querystring: z.object({
            week: z.coerce.number().int().min(0).max(30),
            scope: z.enum(['week', 'rest']).default('week'),
            seconds: z.coerce.number().min(1).max(60).default(10),
          }),
          response: {
            200: z.object({
              present: z.array(choice),
              choices: z.array(choice),
              cost,
              bound: miles,
              gap: z.number(),
              proven: z.boolean(),
              seconds: z.number(),
              lacking: z.array(z.object({ gameId: id, observers: z.number().int() })),
              unfilled: z.array(
                z.object({
                  gameId: id,
                  lacking: z.number().int(),
                  explained: z.boolean(),
                  obstacles: z.array(z.object({ rule: z.enum(rules), relief: relief.nullable() })),
                  together: z.array(relief),
                }),
              ),
            }),
          },
        },
      },
      async (request) => {
        const { conferenceId } = sessionOf(request);
        const { week, scope: asked, seconds } = request.query;
        const material = await loadSeason(database, conferenceId);
        if (!material.games.some((game) => game.week === week)) throw notFound('week');
        const scope = { week, rest: asked === 'rest' };
        const { spread } = await seasonSpread(app.results, conferenceId, material.season.id);
        const { plan, unfilled } = await planner.plan(planningProblemOf(material, scope, spread), {
          seconds,
          relativeGap: 0.001,
        });
        return {
          ...plan,
          present: presentPlan(material, scope),
          choices: [...plan.choices],
          lacking: [...plan.lacking],
          bound: Number.isFinite(plan.bound) ? plan.bound : 0,
          gap: Number.isFinite(plan.gap) ? plan.gap : 1,
          unfilled: structuredClone(unfilled) as never,
        };
      },
    );

    const assignment = z.object({
      id,
      gameId: id,
      observerId: id,
      mode: z.enum(modes),
      answer: z.enum(['offered', 'accepted', 'declined']),
      withdrawn: z.boolean(),
      locked: z.boolean(),
      overrideReason: z.string().nullable(),
      revision: z.number().int(),
    });
    app.get(
      '/api/observer-assignments',
      {
        config: coordinator,
        schema: {
          tags,
          summary: 'All assignments of the current season',
          response: { 200: z.array(assignment) },
        },
      },
      async (request) => [...(await loadSeason(database, sessionOf(request).conferenceId)).assignments],
    );

    app.post(
      '/api/observer-assignments',
      {
        config: coordinator,
        schema: {
          tags,
          summary:
            'Offers and withdraws assignments and records who watched games that are over, all or nothing; breaking a rule needs a reason, which is kept',
          body: z
            .object({
              withdraw: z
                .array(choice.omit({ mode: true }))
                .max(500)
                .default([]),
              offer: z
                .array(choice)
                .max(500)
                .default([])
                .describe('A game that is over is offered on film only.'),
              record: z
                .array(choice)
                .max(500)
                .default([])
                .describe('Who watched a game that is over: kept as accepted, nobody is asked.'),
              reason: typedText({ most: 2000 }).optional(),
            })
            .refine(({ withdraw, offer, record }) => withdraw.length + offer.length + record.length > 0, {
              path: ['offer'],
              error:
                'must name an assignment to offer, record one that was watched, or withdraw one to take back',
            }),
          response: { 204: z.null() },
        },
      },
      async (request, reply) => {
        const session = sessionOf(request);
        const season = await currentSeason(database, session.conferenceId);
        if (!season) throw notFound('season');
        await changeAssignments(database.pool, session, season, () => request.body);
        return reply.code(204).send(null);
      },
    );

    app.get(
      '/api/my/assignments',
      {
        config: { policy: policies.observer },
        schema: {
          tags,
          summary: "The signed-in observer's assignments",
          response: {
            200: z.array(
              z.object({
                id,
                game: z.string(),
                week: z.number().int(),
                kickoff: z.date(),
                timeZone: z.string(),
                venue: z.string(),
                mode: z.enum(modes),
                answer: z.enum(['offered', 'accepted', 'declined']),
                withdrawn: z.boolean(),
                reportState: z.string().nullable(),
              }),
            ),
          },
        },
      },
      async (request) => {
        const { conferenceId, personId } = sessionOf(request);
        return loadAssignments(database.pool, conferenceId, personId);
      },
    );

    app.post(
      '/api/my/assignments/:assignmentId/answer',
      {
        config: { policy: policies.observer },
        schema: {
          tags,
          summary: 'Accepts or declines an offered game',
          params: z.object({ assignmentId: id }),
          body: z.object({
            answer: z.enum(['accepted', 'declined']),
            reason: typedText({ most: 500 }).default(''),
          }),
          response: { 204: z.null() },
        },
      },
      async (request, reply) => {
        const { conferenceId, personId } = sessionOf(request);
        await answerAssignment(database.pool, {
          conferenceId,
          observerId: personId,
          assignmentId: request.params.assignmentId,
          ...request.body,
        });
        return reply.code(204).send(null);
      },
    );

    const seen = {
      gamesWorked: z.number().int(),
      timesSeen: z.number().int(),
      timesPlanned: z.number().int(),
      observers: z.number().int(),
      watchedShare: z.number().nullable().describe('Of the chances in games seen, the share watched.'),
      decidedShare: z.number().nullable().describe('Of those watched, the share that the logs give.'),
      errorNow: z.number().nullable(),
      errorAtEnd: z.number().nullable(),
    };
    app.get(
      '/api/observer-coverage',
      {
        config: coordinator,
        schema: {
          tags,
          summary:
            'How often crews and officials have been and will be seen, and the standard errors expected',
          response: {
            200: z.object({
              spread: z.object({
                official: z.number(),
                observer: z.number(),
                game: z.number(),
                officialInGame: z.number(),
                observerInPosition: z.number(),
                residual: z.number(),
                estimated: z.boolean(),
              }),
              crews: z.array(
                z.object({
                  id,
                  name: z.string(),
                  ...seen,
                  shortOfTimes: z.number().int(),
                  shortOfObservers: z.number().int(),
                }),
              ),
              officials: z.array(
                z.object({ id, position: z.string(), crew: z.string().nullable(), ...seen }),
              ),
              groups: z.array(z.array(z.string())),
            }),
          },
        },
      },
      async (request) => {
        const { conferenceId } = sessionOf(request);
        const material = await loadSeason(database, conferenceId);
        const { spread, estimated } = await seasonSpread(app.results, conferenceId, material.season.id);
        const coverage = coverageOf(material, spread);
        return {
          spread: { ...spread, estimated },
          crews: [...coverage.crews],
          officials: [...coverage.officials],
          groups: coverage.groups.map((group) => [...group]),
        };
      },
    );
  };
}
