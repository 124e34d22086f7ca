import type { FastifyInstance } from 'fastify';
import { findPage } from './find-page.ts';
import { gamesPage } from './games-page.ts';
import { officialsPage } from './officials-page.ts';
import { playsPage } from './plays-page.ts';

/** A season's games, officials and plays, each with filters, pages and one box to search all three. */
export async function listPages(app: FastifyInstance): Promise<void> {
  await app.register(findPage);
  await app.register(gamesPage);
  await app.register(officialsPage);
  await app.register(playsPage);
}
