import os from 'node:os';
import fastifyStatic from '@fastify/static';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { reelFile } from '../reels/reel-file.ts';
import { webVtt } from '../timeline/caption-files.ts';
import { conflict, notFound } from '../web/problem.ts';
import { captionsOfReel } from './captions-of-reel.ts';
import { ownEdition } from './pages/my-training-pages.ts';
import { readWatching } from './stores/viewer-store.ts';

/** A reel's file in byte ranges, and its captions, for the edition's audience once they confirmed the notice. */
export async function reelFileRoutes(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const config = { policy: policies.toWatch };
  const schema = { hide: true, params: ownEdition };

  await app.register(async (scoped) => {
    // It wants a root that is there; each file names its own folder.
    await scoped.register(fastifyStatic, { root: os.tmpdir(), serve: false });
    const routes = scoped.withTypeProvider<ZodTypeProvider>();

    routes.get(
      '/my/training/:programId/editions/:number/reel.mp4',
      { config, schema },
      async (request, reply) => {
        const session = sessionOf(request);
        const { programId, number } = request.params;
        const { reel, hasConfirmed } = await readWatching(pool, session, programId, number);
        if (!reel) throw notFound('reel');
        if (!hasConfirmed) throw conflict('Confirm first what is said about film and audience.');
        return reelFile(app, reply, session.conferenceId, { id: reel.id, state: 'ready' });
      },
    );

    routes.get(
      '/my/training/:programId/editions/:number/captions.vtt',
      { config, schema },
      async (request, reply) => {
        const { programId, number } = request.params;
        const { reel, content, hasConfirmed } = await readWatching(
          pool,
          sessionOf(request),
          programId,
          number,
        );
        if (!reel) throw notFound('reel');
        if (!hasConfirmed) throw conflict('Confirm first what is said about film and audience.');
        return reply.type('text/vtt; charset=utf-8').send(webVtt(captionsOfReel(reel.facts, content)));
      },
    );
  });
}
