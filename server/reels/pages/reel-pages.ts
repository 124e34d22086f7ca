import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { hasFfmpeg } from '../../films/looking/tool-process.ts';
import { listEditions } from '../../programs/stores/edition-store.ts';
import { readProgram } from '../../programs/stores/program-rows.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { askForReel, listReels, readReel, removeReel } from '../reel-store.ts';
import { reelView } from './reel-view.ts';

const params = z.object({ programId: z.uuid() });
const ofReel = params.extend({ reelId: z.uuid() });

const noFfmpegForReels =
  'ffmpeg is not installed on this server: whoever runs it has to install ffmpeg, with ffprobe; reels that wait are then made by themselves. Everything else of the program works without.';

/** Reels of a program: asked for, how far they are, watched, taken along, removed. */
export async function reelPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  async function show(request: FastifyRequest, reply: FastifyReply, programId: string, refused?: Problem) {
    const { conferenceId, timeZone } = sessionOf(request);
    const program = await readProgram(pool, conferenceId, programId);
    const reels = await listReels(pool, conferenceId, programId);
    const editions = await listEditions(pool, conferenceId, programId);
    if (refused) reply.code(refused.status);
    return reply.page(
      'reels/reels',
      {
        ...{ program, timeZone },
        season: await seasonOf(database, conferenceId, program.seasonId),
        newest: editions[0]?.number ?? null,
        hasPlays: program.plays.length > 0,
        reels: await Promise.all(reels.map((reel) => reelView(app, conferenceId, reel))),
        noFfmpeg: (await hasFfmpeg()) ? null : noFfmpegForReels,
        refused: refused?.message,
        isRemoved: (request.query as { done?: string }).done === 'removed',
      },
      { title: `Reels of ${program.title}`, scripts: ['reel'], width: 'wide' },
    );
  }

  pages.get(
    '/training/programs/:programId/reels',
    {
      config,
      schema: { hide: true, params, querystring: z.object({ done: z.literal('removed').optional() }) },
    },
    async (request, reply) => show(request, reply, request.params.programId),
  );

  pages.post(
    '/training/programs/:programId/reels',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { programId } = request.params;
      const form = formOf(request.body);
      const edition = Number(textOf(form.edition));
      try {
        const id = await askForReel(pool, sessionOf(request), programId, {
          edition: Number.isInteger(edition) && edition >= 1 ? edition : null,
          burnedIn: textOf(form.burnedIn) === 'yes',
        });
        app.reels.wake();
        return reply.redirect(`/training/programs/${programId}/reels/${id}`, 303);
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        return show(request, reply, programId, error);
      }
    },
  );

  pages.get(
    '/training/programs/:programId/reels/:reelId',
    { config, schema: { hide: true, params: ofReel } },
    async (request, reply) => {
      const { conferenceId, timeZone } = sessionOf(request);
      const { programId, reelId } = request.params;
      const reel = await readReel(pool, conferenceId, programId, reelId);
      const program = await readProgram(pool, conferenceId, programId);
      const view = await reelView(app, conferenceId, reel);
      return reply.page(
        'reels/reel',
        { program, timeZone, reel: view, noFfmpeg: (await hasFfmpeg()) ? null : noFfmpegForReels },
        { title: `${view.name}: ${reel.plan.title}`, scripts: ['reel'], width: 'wide' },
      );
    },
  );

  pages.post(
    '/training/programs/:programId/reels/:reelId/remove',
    { config, schema: { hide: true, params: ofReel } },
    async (request, reply) => {
      const acting = sessionOf(request);
      const { programId, reelId } = request.params;
      await removeReel(pool, acting, programId, reelId);
      await app.reels.files.removeReel(acting.conferenceId, reelId);
      return reply.redirect(`/training/programs/${programId}/reels?done=removed`, 303);
    },
  );
}
