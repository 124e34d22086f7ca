import type { FastifyInstance } from 'fastify';
import { outcomeRoutes } from './outcome-routes.ts';
import { nextTopicPages } from './pages/next-topic-pages.ts';
import { outcomePages } from './pages/outcome-pages.ts';

/** What came of training programs: misses before and after, and what to teach next. */
export async function trainingOutcomes(app: FastifyInstance): Promise<void> {
  await app.register(outcomeRoutes);
  await app.register(outcomePages);
  await app.register(nextTopicPages);
}
