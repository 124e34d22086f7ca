import path from 'node:path';
import type { FastifyInstance, FastifyReply } from 'fastify';
import { bytesOf } from '../films/film-files.ts';
import { Problem } from '../web/problem.ts';
import type { Reel } from './reel-store.ts';

export const reelFileGone =
  'The reel’s file is no longer on the server: a backup does not hold reels. Make it again.';

/**
 * Sends a reel's file in byte ranges; the caller has settled that this person may see it, and registered @fastify/static.
 * @throws Problem 404 when it is not ready, or its file is gone
 */
export async function reelFile(
  app: FastifyInstance,
  reply: FastifyReply,
  conferenceId: string,
  reel: Pick<Reel, 'id' | 'state'>,
): Promise<FastifyReply> {
  if (reel.state !== 'ready') throw new Problem(404, 'Not found', 'This reel is not ready to be watched.');
  const file = app.reels.files.reel(conferenceId, reel.id);
  if ((await bytesOf(file)) === 0) throw new Problem(404, 'Not found', reelFileGone);
  return reply
    .header('content-type', 'video/mp4')
    .header('content-disposition', `inline; filename="reel-${reel.id}.mp4"`)
    .header('cache-control', 'private, no-cache')
    .sendFile(path.basename(file), path.dirname(file), { contentType: false, cacheControl: false });
}
