import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { groupsOf } from '../../grading/group-by.ts';
import { windowEnd } from '../rules/limits.ts';
import { inquiriesOfTeam } from '../stores/inquiry-store.ts';
import { readInquirySetting } from '../stores/setting-store.ts';
import { gamesOfTeam, teamOf } from '../stores/team-store.ts';
import { inquiryLine } from './inquiry-view.ts';

/** What a team's contact sees: what the team asked, its games, and nothing else of the conference. */
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
      const inquiries = team ? await inquiriesOfTeam(pool, conferenceId, team.id) : [];
      const setting = await readInquirySetting(pool, conferenceId);
      const now = new Date();
      return reply.page(
        'inquiries/own',
        {
          team,
          setting,
          inquiries: inquiries.map(inquiryLine),
          seasons: groupsOf(games, ({ seasonId }) => seasonId).map((own) => ({
            name: own[0]!.season,
            closed: own[0]!.closed,
            games: own.map((game) => {
              const until = windowEnd(game.kickoff, setting);
              return {
                ...game,
                until,
                mayAsk: setting.aWeek > 0 && !game.closed && now >= game.kickoff && now <= until,
                begun: now >= game.kickoff,
              };
            }),
          })),
        },
        { title: 'Inquiries' },
      );
    },
  );
}
