import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { programAddress, tags } from '../programs/program-answer.ts';
import { readProgram } from '../programs/stores/program-rows.ts';
import {
  decideObjection,
  listOwnShown,
  objectToPlay,
  readShown,
  tellShown,
} from '../programs/stores/shown-store.ts';
import { typedText } from '../text/typed-text.ts';
import { wholeNumber } from '../web/whole-number.ts';
import { settingSchema } from './pages/shown-pages.ts';
import { keepTrainingSetting, readTrainingSetting } from './stores/notice-store.ts';

const moment = z.string().nullable();
const objection = {
  objectUntil: moment,
  objectedAt: moment,
  reason: z.string(),
  decision: z.enum(['shown', 'left out']).nullable(),
  decisionReason: z.string(),
};
const reason = typedText({ least: 1, most: 1000 });
const instants = (one: { objectUntil: Date | null; objectedAt: Date | null }) => ({
  objectUntil: one.objectUntil?.toISOString() ?? null,
  objectedAt: one.objectedAt?.toISOString() ?? null,
});

/** Who is shown in a program: told, objecting, decided. As JSON. */
export async function shownRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  routes.get(
    '/api/training-programs/:programId/shown',
    {
      config,
      schema: {
        tags,
        summary: 'Who is shown in a program, and whether they object',
        params: programAddress,
        response: {
          200: z.array(
            z.object({
              ...{
                playId: z.uuid(),
                place: z.int(),
                personId: z.uuid(),
                name: z.string(),
                position: z.string(),
              },
              state: z.enum(['not told', 'may object', 'objects', 'decided', 'no objection']),
              ...objection,
            }),
          ),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      await readProgram(pool, conferenceId, request.params.programId);
      const shown = await readShown(pool, conferenceId, request.params.programId);
      return shown.map((one) => ({ ...one, ...instants(one) }));
    },
  );

  routes.post(
    '/api/training-programs/:programId/telling',
    {
      config,
      schema: {
        tags,
        summary: 'Tell those who are shown, privately, before the release',
        params: programAddress,
        body: z.object({ days: wholeNumber('days', 0, 30).describe('for how long they may object') }),
        response: { 200: z.object({ told: z.int().describe('people who were not told before') }) },
      },
    },
    async (request) => ({
      told: await tellShown(pool, sessionOf(request), request.params.programId, request.body.days),
    }),
  );

  routes.post(
    '/api/training-programs/:programId/decisions',
    {
      config,
      schema: {
        tags,
        summary: 'Decide on an objection',
        params: programAddress,
        body: z.object({
          ...{ playId: z.uuid(), officialId: z.uuid(), decision: z.enum(['shown', 'left out']) },
          reason: reason.describe('which the official reads'),
        }),
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const { programId } = request.params;
      await decideObjection(pool, sessionOf(request), { programId, ...request.body }, request.body);
      return reply.code(204).send(null);
    },
  );

  routes.get(
    '/api/my/shown-in-training',
    {
      config: { policy: policies.official },
      schema: {
        tags,
        summary: 'Plays chosen for training that show you',
        response: {
          200: z.array(
            z.object({
              ...{
                programId: z.uuid(),
                playId: z.uuid(),
                title: z.string(),
                game: z.string(),
                week: z.int(),
              },
              ...{ playNumber: z.int(), position: z.string() },
              ...objection,
            }),
          ),
        },
      },
    },
    async (request) =>
      (await listOwnShown(pool, sessionOf(request))).map((one) => ({ ...one, ...instants(one) })),
  );

  routes.post(
    '/api/my/shown-in-training/:programId/:playId/objection',
    {
      config: { policy: policies.official },
      schema: {
        tags,
        summary: 'Object to being shown',
        params: programAddress.extend({ playId: z.uuid() }),
        body: z.object({ reason }),
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      await objectToPlay(pool, sessionOf(request), request.params, request.body.reason);
      return reply.code(204).send(null);
    },
  );

  routes.get(
    '/api/training-setting',
    {
      config,
      schema: {
        tags,
        summary: 'What is said of film, and how long who is shown may object',
        response: { 200: settingSchema },
      },
    },
    async (request) => readTrainingSetting(pool, sessionOf(request).conferenceId),
  );

  routes.put(
    '/api/training-setting',
    {
      config,
      schema: {
        tags,
        summary: 'Change what is said of film, and how long who is shown may object',
        body: settingSchema,
        response: { 200: settingSchema },
      },
    },
    async (request) => {
      await keepTrainingSetting(pool, sessionOf(request), request.body);
      return request.body;
    },
  );
}
