import type { FastifyInstance } from 'fastify';
import { ownPages } from './pages/own-pages.ts';

/** All of teams' inquiries: asked by a team's contact, answered by the coordinator. */
export async function teamInquiries(app: FastifyInstance): Promise<void> {
  await app.register(ownPages);
}
