import os from 'node:os';
import path from 'node:path';
import fastifyStatic from '@fastify/static';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { fileGone, placeOfFilm } from '../films/film-place.ts';
import { findFilm } from '../films/film-store.ts';
import { notFound, Problem } from '../web/problem.ts';
import { numberOf } from '../web/whole-number.ts';
import { readClipFilm } from './clip-film.ts';
import { readSet } from './stores/set-rows.ts';

const types = { mp4: 'video/mp4', webm: 'video/webm' } as const;

/** The film of a clip in byte ranges, for those who were asked to mark it. */
export async function clipFilmRoutes(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  await app.register(async (scoped) => {
    // It wants a root that is there; each file names its own folder.
    await scoped.register(fastifyStatic, { root: os.tmpdir(), serve: false });
    scoped.withTypeProvider<ZodTypeProvider>().get(
      '/calibration/:setId/clips/:number/film',
      {
        config: { policy: policies.calibrationSet },
        schema: { hide: true, params: z.object({ setId: z.uuid(), number: numberOf('number') }) },
      },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const set = await readSet(pool, conferenceId, request.params.setId);
        const clip = set.clips.find(({ number }) => number === request.params.number);
        if (!clip) throw notFound('clip');
        const stretch = await readClipFilm(pool, conferenceId, clip.playId);
        if ('lacking' in stretch) throw new Problem(404, 'Not found', stretch.lacking);
        const film = await findFilm(pool, conferenceId, stretch.gameId, stretch.filmId);
        const file = await placeOfFilm(app, conferenceId, film);
        if (file === undefined) throw new Problem(404, 'Not found', fileGone);
        const form = film.facts?.form ?? 'mp4';
        return reply
          .header('content-type', types[form])
          .header('content-disposition', `inline; filename="clip-${clip.number}.${form}"`)
          .header('cache-control', 'private, no-cache')
          .sendFile(path.basename(file), path.dirname(file), { contentType: false, cacheControl: false });
      },
    );
  });
}
