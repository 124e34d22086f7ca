import type { FastifyInstance } from 'fastify';
import { findPages } from './find-pages.ts';
import { gamesPages } from './games-pages.ts';
import { officialsPages } from './officials-pages.ts';
import { playsPages } from './plays-pages.ts';

/** A season's games, officials and plays, each with filters, pages and one box to search all three. */
export async function listPages(app: FastifyInstance): Promise<void> {
  await app.register(findPages);
  await app.register(gamesPages);
  await app.register(officialsPages);
  await app.register(playsPages);
}
