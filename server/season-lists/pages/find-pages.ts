import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { addressWith } from '../../web/paging.ts';
import { countFound, listAddress } from './list-head.ts';
import { common } from './list-query.ts';

/** Where a search from elsewhere leads: to the first list in which it finds something. */
export async function findPages(app: FastifyInstance): Promise<void> {
  const { database } = app;

  app.withTypeProvider<ZodTypeProvider>().get(
    '/seasons/:seasonId/find',
    {
      config: { policy: policies.coordinator },
      schema: {
        hide: true,
        params: z.object({ seasonId: z.uuid() }),
        querystring: z.object({ find: common.find }),
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { find } = request.query;
      const found = await countFound(database.pool, conferenceId, season.id, find);
      const list = (['officials', 'games', 'plays'] as const).find((one) => (found?.[one] ?? 0) > 0);
      return reply.redirect(addressWith(listAddress(season.id, list ?? 'games'), { find }), 303);
    },
  );
}
