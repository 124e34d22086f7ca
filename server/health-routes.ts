import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies } from './accounts/policy.ts';
import type { Database } from './database/database.ts';
import { missingMigrations, readMigrations } from './database/migrations.ts';
import { inTransaction } from './database/transaction.ts';
import { databaseTrouble } from './database/trouble.ts';

const readiness = z.object({
  status: z.enum(['ready', 'not ready']),
  reason: z.string().optional(),
  /** Only with READ_DATABASE_URL. Without its replica nothing is missing: the primary is read from. */
  replica: z.string().optional(),
});

/** GET /health: the process lives. GET /ready: the database answers and has every migration. */
export async function healthRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const migrations = await readMigrations();

  routes.get(
    '/health',
    {
      config: { policy: policies.open, nobodyAsked: true },
      schema: {
        summary: 'Whether the process lives',
        tags: ['operation'],
        response: { 200: z.object({ status: z.literal('alive') }) },
      },
    },
    async () => ({ status: 'alive' as const }),
  );

  routes.get(
    '/ready',
    {
      config: { policy: policies.open, nobodyAsked: true },
      schema: {
        summary: 'Whether the database answers and has every migration',
        tags: ['operation'],
        response: { 200: readiness, 503: readiness },
      },
    },
    async (_request, reply) => {
      const { outage } = app.database;
      try {
        if (outage.full && !(await hasRoom(app.database))) {
          return reply.code(503).send({ status: 'not ready', reason: 'the disk of the database is full' });
        }
        const missing = await missingMigrations(app.database.pool as never, migrations);
        if (missing.length === 0) return { status: 'ready' as const, ...(await replicaOf(app)) };
        return reply
          .code(503)
          .send({ status: 'not ready', reason: `${missing.length} migrations are missing` });
      } catch {
        const reason = outage.reason ?? 'the database does not answer';
        return reply.code(503).send({ status: 'not ready', reason });
      }
    },
  );
}

async function replicaOf({ replica }: FastifyInstance): Promise<{ replica?: string }> {
  if (!replica) return {};
  await replica.look();
  return { replica: replica.reason === undefined ? 'read from' : `not read from: ${replica.reason}` };
}

/**
 * Whether the database can write again after it said that its disk is full. A row may still fit into a page that is
 * there, so a megabyte is written that is not kept.
 */
async function hasRoom(database: Database): Promise<boolean> {
  try {
    await inTransaction(database.pool, async (client) => {
      await client.query(
        'CREATE TEMPORARY TABLE room ON COMMIT DROP AS SELECT repeat(md5(i::text), 16) FROM generate_series(1, 2048) AS i',
      );
    });
  } catch (error) {
    if (databaseTrouble(error) !== 'full') throw error;
    return false;
  }
  database.outage.full = false;
  return true;
}
