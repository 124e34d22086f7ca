import os from 'node:os';
import path from 'node:path';
import fastifyStatic from '@fastify/static';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { Problem } from '../web/problem.ts';
import { fileGone, placeOfFilm } from './film-place.ts';
import { findFilm } from './film-store.ts';

const types = { mp4: 'video/mp4', webm: 'video/webm' } as const;

/** A film's file in byte ranges, so that a player can begin anywhere. Its type is ours to say, whatever was uploaded. */
export async function filmFileRoutes(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  await app.register(async (scoped) => {
    // It wants a root that is there; each file names its own folder.
    await scoped.register(fastifyStatic, { root: os.tmpdir(), serve: false });
    scoped.withTypeProvider<ZodTypeProvider>().get(
      '/games/:gameId/films/:filmId/file',
      {
        config: { policy: policies.filmOfGame },
        schema: { hide: true, params: z.object({ gameId: z.uuid(), filmId: z.uuid() }) },
      },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const { gameId, filmId } = request.params;
        const film = await findFilm(pool, conferenceId, gameId, filmId);
        if (film.state !== 'ready' || film.source === 'link')
          throw new Problem(404, 'Not found', 'There is no file of this film to be watched here.');
        const file = await placeOfFilm(app, conferenceId, film);
        if (file === undefined) throw new Problem(404, 'Not found', fileGone);
        const form = film.facts?.form ?? 'mp4';
        return reply
          .header('content-type', types[form])
          .header('content-disposition', `inline; filename="film-${filmId}.${form}"`)
          .header('cache-control', 'private, no-cache')
          .sendFile(path.basename(file), path.dirname(file), { contentType: false, cacheControl: false });
      },
    );
  });
}
