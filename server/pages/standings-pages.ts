import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../accounts/people-names.ts';
import { policies } from '../accounts/policy.ts';
import { positions } from '../football/positions.ts';
import { currentSeason, seasonOf } from '../schedule/seasons.ts';
import { rawStandings } from '../standings/raw-standings.ts';
import { readSeasonCounts } from '../standings/season-counts.ts';

/** The season's standings, a position at a time. */
export async function standingsPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  pages.get(
    '/standings',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => {
      const season = await currentSeason(database, request.session!.conferenceId);
      return reply.redirect(season ? `/seasons/${season.id}/standings` : '/season');
    },
  );

  pages.get(
    '/seasons/:seasonId/standings',
    {
      config: { policy: policies.coordinator },
      schema: {
        hide: true,
        params: z.object({ seasonId: z.uuid() }),
        querystring: z.object({ position: z.enum(positions).default('referee') }),
      },
    },
    async (request, reply) => {
      const { conferenceId } = request.session!;
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { position } = request.query;
      const standings = rawStandings(await readSeasonCounts(database.pool, conferenceId, season.id));
      const people = await readPeople(database.pool, conferenceId);
      const rows = standings
        .filter((row) => row.position === position)
        .map((row) => {
          const tooFew =
            row.games < season.minimumGames
              ? `${row.games} of ${season.minimumGames} games`
              : row.opportunities < season.minimumOpportunities
                ? `${row.opportunities} of ${season.minimumOpportunities} opportunities`
                : null;
          return { ...row, official: people.get(row.personId), value: row.grade.grade, tooFew };
        });
      const ranked = rows.filter((row) => row.tooFew === null && row.value !== null);
      return reply.page(
        'standings',
        {
          season,
          position,
          tabs: positions.map((name) => ({ name, here: name === position })),
          ranked: ranked.map((row, index) => ({ ...row, rank: index + 1 })),
          unranked: rows.filter((row) => !ranked.includes(row)),
        },
        { title: `Standings, ${position}`, width: 'wide' },
      );
    },
  );
}
