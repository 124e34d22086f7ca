import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positionsOf } from '../../football/crews.ts';
import type { CrewSize } from '../../football/positions.ts';
import { readCrews } from '../../schedule/schedule-store.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { capital } from '../../web/format.ts';
import { pagesOf, pagingOf } from '../../web/paging.ts';
import { searchPatterns } from '../search-words.ts';
import { countOfficials, listOfficials } from '../stores/officials-store.ts';
import { choices, listAddress, listTabs } from './list-head.ts';
import { officialsQuery } from './list-query.ts';

const size = 25;

/** The coordinator's list of a season's officials. */
export async function officialsPages(app: FastifyInstance): Promise<void> {
  const { database } = app;

  app.withTypeProvider<ZodTypeProvider>().get(
    '/seasons/:seasonId/officials',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: z.object({ seasonId: z.uuid() }), querystring: officialsQuery },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return app.reading(request, async ({ pool }) => {
        const { find, position, crew, page = 1 } = request.query;
        const wanted = { patterns: searchPatterns(find), position: position ?? null, crewId: crew ?? null };
        const total = await countOfficials(pool, conferenceId, season.id, wanted);
        const officials = await listOfficials(pool, conferenceId, season.id, wanted, {
          limit: size,
          offset: (Math.min(page, pagesOf(total, size)) - 1) * size,
        });
        const address = listAddress(season.id, 'officials');
        const crews = await readCrews(pool, conferenceId, season.id);
        return reply.page(
          'season-lists/officials',
          {
            season,
            find,
            list: address,
            tabs: await listTabs(pool, conferenceId, season.id, 'officials', find),
            positions: choices(
              [
                { value: '', label: 'any' },
                ...positionsOf(season.crewSize as CrewSize).map((one) => ({
                  value: one,
                  label: capital(one),
                })),
              ],
              position,
            ),
            crews: choices(
              [{ value: '', label: 'any' }, ...crews.map(({ id, name }) => ({ value: id, label: name }))],
              crew,
            ),
            paging: pagingOf({ asked: page, total, size }, address, { find, position, crew }),
            officials: officials.map((one) => ({
              ...one,
              positionsText: one.positions.map(capital).join(', '),
              crewsText: one.crews.join(', '),
            })),
          },
          { title: `Officials, ${season.name}`, width: 'wide' },
        );
      });
    },
  );
}
