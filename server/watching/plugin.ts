import type { FastifyInstance } from 'fastify';
import { attendanceRoutes } from './attendance-routes.ts';
import { ownTrainingRoutes } from './own-routes.ts';
import { attendancePages } from './pages/attendance-pages.ts';
import { myTrainingPages } from './pages/my-training-pages.ts';
import { playByPlayPages } from './pages/play-by-play-pages.ts';
import { shownPages } from './pages/shown-pages.ts';
import { reelFileRoutes } from './reel-file-routes.ts';
import { shownRoutes } from './shown-routes.ts';
import { remindBeforeDue } from './stores/attendance-store.ts';

/** All of watching training: the audience's own pages, and what the coordinator sees of it. */
export async function watchingTraining(app: FastifyInstance): Promise<void> {
  app.outbox.alsoWrites(remindBeforeDue);
  await app.register(ownTrainingRoutes);
  await app.register(attendanceRoutes);
  await app.register(shownRoutes);
  await app.register(reelFileRoutes);
  await app.register(myTrainingPages);
  await app.register(playByPlayPages);
  await app.register(attendancePages);
  await app.register(shownPages);
}
