import type { FastifyInstance } from 'fastify';
import { calibrationRoutes } from './calibration-routes.ts';
import { clipFilmRoutes } from './clip-film-routes.ts';
import { clipPages } from './pages/clip-pages.ts';
import { setListPages } from './pages/set-list-pages.ts';
import { setPages } from './pages/set-pages.ts';

/** Observers mark the same clips, blind to each other; how far they agree. */
export async function calibration(app: FastifyInstance): Promise<void> {
  await app.register(calibrationRoutes);
  await app.register(clipFilmRoutes);
  await app.register(setListPages);
  await app.register(setPages);
  await app.register(clipPages);
}
