import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { newestEntries } from '../../accounts/audit/audit-reading.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { trailView } from './trail-view.ts';

const onOnePage = 50;
const asked = z.object({ below: z.coerce.number().int().min(1).max(2_000_000_000).optional() });

/** The conference's whole audit trail, newest first, for the coordinator. */
export async function trailPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  app
    .withTypeProvider<ZodTypeProvider>()
    .get(
      '/trail',
      { config: { policy: policies.coordinator }, schema: { hide: true, querystring: asked } },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const { below } = request.query;
        const found = await newestEntries(pool, conferenceId, { below, most: onOnePage + 1 });
        const shown = found.slice(0, onOnePage);
        return reply.page(
          'reports/trail',
          {
            entries: await trailView(pool, conferenceId, shown),
            older: found.length > onOnePage ? shown.at(-1)!.number : undefined,
            later: below !== undefined,
          },
          { title: 'History', width: 'wide' },
        );
      },
    );
}
