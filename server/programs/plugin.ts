import type { FastifyInstance } from 'fastify';
import { Chooser } from './chooser.ts';
import { cutRoutes } from './cut-routes.ts';
import { editionRoutes } from './edition-routes.ts';
import { editorFileRoutes } from './editor-file-routes.ts';
import { outputRoutes } from './outputs/output-routes.ts';
import { Printer } from './outputs/printer.ts';
import { candidatePages } from './pages/candidate-pages.ts';
import { cardPages } from './pages/card-pages.ts';
import { framePages } from './pages/frame-pages.ts';
import { programListPages } from './pages/program-list-pages.ts';
import { programPages } from './pages/program-pages.ts';
import { releasePages } from './pages/release-pages.ts';
import { programPlayRoutes } from './program-play-routes.ts';
import { programRoutes } from './program-routes.ts';
import { recordingRoutes } from './recording-routes.ts';

/** All of training programs: a thread that chooses, one that prints, the pages, the API. */
export async function trainingPrograms(app: FastifyInstance): Promise<void> {
  const chooser = new Chooser();
  const printer = new Printer();
  app.addHook('onClose', async () => {
    await Promise.all([chooser.close(), printer.close()]);
  });
  await app.register(programRoutes(chooser));
  await app.register(programPlayRoutes);
  await app.register(cutRoutes);
  await app.register(recordingRoutes);
  await app.register(editionRoutes);
  await app.register(editorFileRoutes);
  await app.register(outputRoutes(printer));
  await app.register(programListPages);
  await app.register(programPages(chooser));
  await app.register(framePages);
  await app.register(candidatePages);
  await app.register(cardPages);
  await app.register(releasePages);
}
