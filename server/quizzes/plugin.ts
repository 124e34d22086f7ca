import type { FastifyInstance } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { bankRoutes } from './bank-routes.ts';
import { bankImportPages } from './pages/bank-import-pages.ts';
import { bankPages } from './pages/bank-pages.ts';
import { figurePages } from './pages/figure-pages.ts';
import { myQuizPages } from './pages/my-quiz-pages.ts';
import { quizListPages } from './pages/quiz-list-pages.ts';
import { quizPages } from './pages/quiz-pages.ts';
import { quizResultPages } from './pages/result-pages.ts';
import { weightPages } from './pages/weight-pages.ts';
import { quizRoutes } from './quiz-routes.ts';
import { sittingRoutes } from './sitting-routes.ts';
import { endSittings } from './stores/sitting-store.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** The clock that holds the limits of quizzes: the server's, whatever a device shows. */
    quizClock: { now(): Date };
  }
}

/** Questions on rules and mechanics, quizzes made of them, sittings, what they tell. */
export const quizzes = fastifyPlugin(async (app: FastifyInstance): Promise<void> => {
  app.decorate('quizClock', { now: () => new Date() });
  app.outbox.alsoWrites((pool) => endSittings(pool, app.quizClock.now()));
  await app.register(bankRoutes);
  await app.register(quizRoutes);
  await app.register(sittingRoutes);
  await app.register(bankPages);
  await app.register(bankImportPages);
  await app.register(quizListPages);
  await app.register(quizPages);
  await app.register(quizResultPages);
  await app.register(weightPages);
  await app.register(figurePages);
  await app.register(myQuizPages);
});
