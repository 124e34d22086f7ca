import type { FastifyInstance } from 'fastify';
import { Chooser } from './chooser.ts';
import { editionRoutes } from './edition-routes.ts';
import { editorFileRoutes } from './editor-file-routes.ts';
import { programPlayRoutes } from './program-play-routes.ts';
import { programRoutes } from './program-routes.ts';

/** All of training programs: one chooser thread, the API. */
export async function trainingPrograms(app: FastifyInstance): Promise<void> {
  const chooser = new Chooser();
  app.addHook('onClose', () => chooser.close());
  await app.register(programRoutes(chooser));
  await app.register(programPlayRoutes);
  await app.register(editionRoutes);
  await app.register(editorFileRoutes);
}
