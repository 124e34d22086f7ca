import type { FastifyInstance } from 'fastify';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import type { Database } from '../../server/database/database.ts';

/** The application as `npm start` composes it, on a test's database, not listening. */
export async function testApp(
  database: Database,
  env: Record<string, string> = {},
): Promise<FastifyInstance> {
  const app = await buildApp(database, readConfig({ LOG_LEVEL: 'warn', ...env }));
  await app.ready();
  return app;
}
