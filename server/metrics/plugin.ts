import fastifyPlugin from 'fastify-plugin';
import { Metrics } from './metrics.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** What can be seen from outside, at /metrics. */
    metrics: Metrics;
  }
}

/** Counts and times every request, and looks up pool and queues. Register it before what has routes. */
export const metricsPlugin = fastifyPlugin(async (app) => {
  const metrics = new Metrics();
  const { pool } = app.database;
  app.decorate('metrics', metrics);
  app.addHook('onResponse', async (request, reply) => {
    metrics.request({
      method: request.method,
      route: request.routeOptions.url ?? 'none',
      status: reply.statusCode,
      seconds: reply.elapsedTime / 1000,
    });
  });
  metrics.lookedUp(
    'crewmark_database_connections',
    'Connections of this process to the database, and requests that wait for one.',
    'state',
    async () => ({
      busy: pool.totalCount - pool.idleCount,
      idle: pool.idleCount,
      waiting: pool.waitingCount,
      most: pool.options.max ?? 0,
    }),
  );
  metrics.lookedUp(
    'crewmark_jobs_waiting',
    'Work that waits in the database, for whichever process takes it.',
    'job',
    async () => {
      const { rows } = await pool.query<{ letters: number; mail: number; webhooks: number; films: number }>(
        `SELECT (SELECT count(*)::int FROM letter_job WHERE state = 'waiting') AS letters,
                (SELECT count(*)::int FROM message WHERE mail = 'waiting') AS mail,
                (SELECT count(*)::int FROM webhook_delivery WHERE state = 'waiting') AS webhooks,
                (SELECT count(*)::int FROM film WHERE state = 'waiting') AS films`,
      );
      return { ...rows[0]! };
    },
  );
});
