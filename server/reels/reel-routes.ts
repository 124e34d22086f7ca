import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { programAddress, tags } from '../programs/program-answer.ts';
import { readProgram } from '../programs/stores/program-rows.ts';
import { conflict } from '../web/problem.ts';
import { reelFactsSchema } from './plan/reel-places.ts';
import { reelCaptions } from './reel-captions.ts';
import { askForReel, listReels, type Reel, readReel, reelStates, removeReel } from './reel-store.ts';

const reelAddress = programAddress.extend({ reelId: z.uuid() });
const reelAnswer = z.object({
  id: z.uuid(),
  edition: z.int().nullable().describe('null: a private preview of the program as it was'),
  burnedIn: z.boolean(),
  state: z.enum(reelStates),
  progress: z.number().describe('of making it, 0 to 1'),
  underway: z.boolean(),
  trouble: z.string().nullable().describe('why it has to wait'),
  failed: z.string().nullable().describe('why it could not be made'),
  facts: reelFactsSchema.nullable(),
  bytes: z.number(),
  lacking: z.array(z.object({ number: z.int(), why: z.string() })).describe('plays shown without film'),
  file: z.string().nullable().describe('where the reel is, in byte ranges'),
  askedAt: z.string(),
});

export const fileAddress = ({ programId, id }: Pick<Reel, 'programId' | 'id'>) =>
  `/training/${programId}/reels/${id}.mp4`;

function answerOf(reel: Reel): z.input<typeof reelAnswer> {
  const { id, edition, burnedIn, state, progress, underway, trouble, failed, facts, bytes } = reel;
  return {
    ...{ id, edition, burnedIn, state, progress, underway, trouble, failed, facts, bytes },
    lacking: lackingOf(reel),
    file: state === 'ready' ? fileAddress(reel) : null,
    askedAt: reel.askedAt.toISOString(),
  };
}

export const lackingOf = ({ plan }: Pick<Reel, 'plan'>): { number: number; why: string }[] =>
  plan.plays.flatMap(({ number, lacking }) => (lacking === null ? [] : [{ number, why: lacking }]));

/** Reels of training programs as JSON; for the coordinator. */
export async function reelRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  routes.post(
    '/api/training-programs/:programId/reels',
    {
      config,
      schema: {
        tags,
        summary: 'Ask for a reel',
        description:
          'Of an edition, or without one of the program as it is now, for the coordinator alone. It shows what there is now, whatever changes until it is made; plays without film are cards that say why. Making it needs ffmpeg on the server and takes about half its length; ask for it again to learn how far it is.',
        params: programAddress,
        body: z.object({
          edition: z.int().min(1).nullable().default(null),
          burnedIn: z.boolean().default(false).describe('captions are part of the picture'),
        }),
        response: { 201: z.object({ id: z.uuid() }) },
      },
    },
    async (request, reply) => {
      const id = await askForReel(pool, sessionOf(request), request.params.programId, request.body);
      app.reels.wake();
      return reply.code(201).send({ id });
    },
  );

  routes.get(
    '/api/training-programs/:programId/reels',
    {
      config,
      schema: {
        tags,
        summary: 'Reels of a program and of its editions, the newest first',
        params: programAddress,
        response: { 200: z.array(reelAnswer) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { programId } = request.params;
      await readProgram(pool, conferenceId, programId);
      return (await listReels(pool, conferenceId, programId)).map(answerOf);
    },
  );

  routes.get(
    '/api/training-programs/:programId/reels/:reelId',
    {
      config,
      schema: {
        tags,
        summary: 'A reel: how far it is, or what it has',
        params: reelAddress,
        response: { 200: reelAnswer },
      },
    },
    async (request) => {
      const { programId, reelId } = request.params;
      return answerOf(await readReel(pool, sessionOf(request).conferenceId, programId, reelId));
    },
  );

  routes.delete(
    '/api/training-programs/:programId/reels/:reelId',
    {
      config,
      schema: {
        tags,
        summary: 'Remove a reel',
        description: 'With its file. It can be made again as long as its films are there.',
        params: reelAddress,
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const acting = sessionOf(request);
      const { programId, reelId } = request.params;
      await removeReel(pool, acting, programId, reelId);
      await app.reels.files.removeReel(acting.conferenceId, reelId);
      return reply.code(204).send(null);
    },
  );

  for (const [form, type] of [
    ['vtt', 'text/vtt; charset=utf-8'],
    ['srt', 'application/x-subrip; charset=utf-8'],
  ] as const) {
    routes.get(
      `/api/training-programs/:programId/reels/:reelId/captions.${form}`,
      {
        config,
        schema: {
          tags,
          summary: `Captions of a reel as ${form === 'vtt' ? 'WebVTT' : 'SubRip'}`,
          description: 'The narration of each play at its place in the reel as it was made.',
          params: reelAddress,
        },
      },
      async (request, reply) => {
        const { programId, reelId } = request.params;
        const reel = await readReel(pool, sessionOf(request).conferenceId, programId, reelId);
        if (reel.state !== 'ready')
          throw conflict(
            'The reel is not made yet, so where its captions stand is not known. Wait until it is.',
          );
        return reply
          .type(type)
          .header('content-disposition', `attachment; filename="reel-captions.${form}"`)
          .send(reelCaptions(reel, form));
      },
    );
  }
}
