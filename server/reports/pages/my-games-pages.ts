import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { observerGames } from '../review/observer-games.ts';
import { dueOf, reportDaysOf } from '../review/report-due.ts';
import { isOpen } from '../states.ts';
import { tones } from './mark-view.ts';

/** An observer's games with the report on each. */
export async function myGamesPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  pages.get(
    '/my/games',
    { config: { policy: policies.observer }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const assigned = await observerGames(pool, conferenceId, personId);
      const { here, elsewhere } = ofSeasonInView(request, assigned, (others, closed) => {
        const drafts = others.filter((game) => game.reportId === null || isOpen(game.state!)).length;
        return `${counted(others.length, 'game')}${drafts > 0 && !closed ? `, ${drafts} to report on` : ''}`;
      });
      const { reportDays } = await reportDaysOf(app.database, conferenceId);
      const now = new Date();
      const games = here.map((game) => ({
        ...game,
        due: game.kickoff <= now && game.state !== 'returned' ? dueOf(game.kickoff, reportDays) : null,
        late: dueOf(game.kickoff, reportDays) <= now,
        tone: game.state ? tones[game.state] : '',
        begin: game.reportId === null,
        accepted: game.answer === 'accepted',
        atWork: game.state === 'draft' || game.state === 'returned',
      }));
      return reply.page(
        'reports/my-games',
        {
          atWork: games.filter((game) => game.begin || game.atWork),
          done: games.filter((game) => !game.begin && !game.atWork),
          elsewhere,
          personId,
        },
        { title: 'My games', scripts: ['my-games'] },
      );
    },
  );
}
