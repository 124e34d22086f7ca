import type { FastifyInstance } from 'fastify';
import { ownTrainingRoutes } from './own-routes.ts';
import { myTrainingPages } from './pages/my-training-pages.ts';
import { playByPlayPages } from './pages/play-by-play-pages.ts';

/** All of watching training: the audience's own pages, and what the coordinator sees of it. */
export async function watchingTraining(app: FastifyInstance): Promise<void> {
  await app.register(ownTrainingRoutes);
  await app.register(myTrainingPages);
  await app.register(playByPlayPages);
}
