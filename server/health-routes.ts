import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies } from './accounts/policy.ts';
import { missingMigrations, readMigrations } from './database/migrations.ts';

const readiness = z.object({ status: z.enum(['ready', 'not ready']), reason: z.string().optional() });

/** GET /health: the process lives. GET /ready: the database answers and has every migration. */
export async function healthRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const migrations = await readMigrations();

  routes.get(
    '/health',
    {
      config: { policy: policies.open },
      schema: { tags: ['operation'], response: { 200: z.object({ status: z.literal('alive') }) } },
    },
    async () => ({ status: 'alive' as const }),
  );

  routes.get(
    '/ready',
    {
      config: { policy: policies.open },
      schema: { tags: ['operation'], response: { 200: readiness, 503: readiness } },
    },
    async (_request, reply) => {
      try {
        const missing = await missingMigrations(app.database.pool as never, migrations);
        if (missing.length === 0) return { status: 'ready' as const };
        return reply
          .code(503)
          .send({ status: 'not ready', reason: `${missing.length} migrations are missing` });
      } catch {
        return reply.code(503).send({ status: 'not ready', reason: 'the database does not answer' });
      }
    },
  );
}
