import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { groupsOf } from '../../grading/group-by.ts';
import { gamesOfTeam, teamOf } from '../stores/team-store.ts';

/** What a team's contact sees: the games of their team, and nothing else of the conference. */
export async function ownPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  pages.get(
    '/my/inquiries',
    { config: { policy: policies['team contact'] }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const team = await teamOf(pool, conferenceId, personId);
      const games = team ? await gamesOfTeam(pool, conferenceId, team.id) : [];
      return reply.page(
        'inquiries/own',
        {
          team,
          seasons: groupsOf(games, ({ seasonId }) => seasonId).map((own) => ({
            name: own[0]!.season,
            closed: own[0]!.closed,
            games: own,
          })),
        },
        { title: 'Inquiries', width: 'narrow' },
      );
    },
  );
}
