import os from 'node:os';
import fastifyStatic from '@fastify/static';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { reelFile } from './reel-file.ts';
import { readReel } from './reel-store.ts';

/** A reel's file in byte ranges, for the coordinator; a preview is for nobody else. */
export async function reelFileRoutes(app: FastifyInstance): Promise<void> {
  await app.register(async (scoped) => {
    // It wants a root that is there; each file names its own folder.
    await scoped.register(fastifyStatic, { root: os.tmpdir(), serve: false });
    scoped.withTypeProvider<ZodTypeProvider>().get(
      '/training/:programId/reels/:reelId.mp4',
      {
        config: { policy: policies.coordinator },
        schema: { hide: true, params: z.object({ programId: z.uuid(), reelId: z.uuid() }) },
      },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const { programId, reelId } = request.params;
        const reel = await readReel(app.database.pool, conferenceId, programId, reelId);
        return reelFile(app, reply, conferenceId, reel);
      },
    );
  });
}
