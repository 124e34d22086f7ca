import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { verdicts } from '../patterns/follow-up/follow-up.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { followedPoint, followedPoints } from './followed-points.ts';
import { openPointWithEvidence } from './open-point.ts';
import { newPointSchema, newStepSchema, turnSchema } from './point.ts';
import { noteStep, removeStep, turnPoint } from './point-store.ts';

const rate = z.object({ events: z.number(), opportunities: z.number() });
const interval = z.object({ low: z.number(), high: z.number() });
const besidePeers = z.object({
  own: rate,
  games: z.number(),
  gamesWithMisses: z.number(),
  comparable: rate,
  expected: z.number(),
  peersRate: z.number().nullable(),
  peerCount: z.number(),
  pMore: z.number(),
});
const side = rate.extend({ rate: z.number(), interval });
const pointAnswer = z.object({
  id: z.uuid(),
  seasonId: z.uuid(),
  personId: z.uuid(),
  position: z.string(),
  dutyKey: z.string(),
  situationCut: z.string(),
  state: z.enum(['open', 'closed']),
  steps: z.array(
    z.object({
      id: z.uuid(),
      kind: z.enum(['opened', 'conversation', 'letter', 'note', 'closed', 'reopened']),
      happenedOn: z.string(),
      text: z.string(),
      shared: z.boolean(),
      madeBy: z.uuid().nullable(),
      madeAt: z.string(),
    }),
  ),
  progress: z.object({
    raisedOn: z.string().nullable(),
    followUp: z
      .object({
        before: side,
        after: side.extend({ games: z.number() }),
        verdict: z.enum(verdicts),
        reason: z.string().nullable().describe('why it cannot be told'),
        unchangedRate: z
          .number()
          .nullable()
          .describe(
            'miss rate likely afterwards had nothing changed, part of a high count taken to be chance',
          ),
        pFewer: z.number().describe('one-sided, had nothing changed'),
        pMore: z.number(),
        level: z.number().describe('what a p-value has to reach at this look; all looks share 0.05'),
        looks: z.number().describe('how often it was looked at since'),
        targetRate: z.number().nullable(),
        opportunitiesNeeded: z.number().nullable(),
      })
      .nullable(),
    season: besidePeers,
    after: besidePeers.nullable(),
    sinceClosing: besidePeers
      .extend({ recurs: z.boolean(), level: z.number(), looks: z.number() })
      .nullable(),
  }),
});

/** Development points as JSON; for the coordinator. */
export async function developmentRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const tags = ['development points'];
  const params = z.object({ pointId: z.uuid() });

  routes.get(
    '/api/seasons/:seasonId/development-points',
    {
      config,
      schema: {
        tags,
        summary: "A season's development points with how each stands",
        params: z.object({ seasonId: z.uuid() }),
        response: { 200: z.array(pointAnswer) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return followedPoints(database, app.results, conferenceId, season.id);
    },
  );

  routes.post(
    '/api/seasons/:seasonId/development-points',
    {
      config,
      schema: {
        tags,
        summary: 'Open a development point',
        params: z.object({ seasonId: z.uuid() }),
        body: newPointSchema,
        response: { 201: pointAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const id = await openPointWithEvidence(pool, app.results, session, season.id, request.body);
      return reply.code(201).send(await followedPoint(database, app.results, session.conferenceId, id));
    },
  );

  routes.get(
    '/api/development-points/:pointId',
    { config, schema: { tags, summary: 'One development point', params, response: { 200: pointAnswer } } },
    async (request) =>
      followedPoint(database, app.results, sessionOf(request).conferenceId, request.params.pointId),
  );

  routes.post(
    '/api/development-points/:pointId/steps',
    {
      config,
      schema: {
        tags,
        summary: 'Note a conversation, a letter or a remark',
        params,
        body: newStepSchema,
        response: { 201: pointAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      await noteStep(pool, session, request.params.pointId, request.body);
      return reply
        .code(201)
        .send(await followedPoint(database, app.results, session.conferenceId, request.params.pointId));
    },
  );

  routes.delete(
    '/api/development-points/:pointId/steps/:stepId',
    {
      config,
      schema: {
        tags,
        summary: 'Take back what was noted by mistake',
        params: z.object({ pointId: z.uuid(), stepId: z.uuid() }),
        response: { 200: pointAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      await removeStep(pool, session, request.params.pointId, request.params.stepId);
      return followedPoint(database, app.results, session.conferenceId, request.params.pointId);
    },
  );

  for (const [path, to, summary] of [
    ['close', 'closed', 'Close a development point'],
    ['reopen', 'reopened', 'Open a closed development point again'],
  ] as const) {
    routes.post(
      `/api/development-points/:pointId/${path}`,
      { config, schema: { tags, summary, params, body: turnSchema, response: { 200: pointAnswer } } },
      async (request) => {
        const session = sessionOf(request);
        const { pointId } = request.params as { pointId: string };
        await turnPoint(pool, session, pointId, to, request.body);
        return followedPoint(database, app.results, session.conferenceId, pointId);
      },
    );
  }
}
