import type { FastifyInstance } from 'fastify';
import { committeeRoutes } from './committee-routes.ts';
import { decisionRoutes } from './decision-routes.ts';
import { ballotPages } from './pages/ballot-pages.ts';
import { committeePages } from './pages/committee-pages.ts';
import { decisionPages } from './pages/decision-pages.ts';
import { seatPages } from './pages/seat-pages.ts';
import { seatRoutes } from './seat-routes.ts';

/** A committee decides: conflicts first, sealed ballots opened together, a reason for each decision. */
export async function committee(app: FastifyInstance): Promise<void> {
  await app.register(committeeRoutes);
  await app.register(seatRoutes);
  await app.register(decisionRoutes);
  await app.register(committeePages);
  await app.register(seatPages);
  await app.register(ballotPages);
  await app.register(decisionPages);
}
