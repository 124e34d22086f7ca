import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { releasedGamesOf } from '../game-report-store.ts';
import { lettersTo } from '../kept-letters.ts';
import { kindTitles } from '../kind-titles.ts';

/** An official’s own letters and game reports. */
export async function ownLetterPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;

  pages.get(
    '/my/letters',
    { config: { policy: policies.official }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const letters = ofSeasonInView(
        request,
        await lettersTo(app.database, conferenceId, personId),
        (others) => counted(others.length, 'letter'),
      );
      const games = ofSeasonInView(request, await releasedGamesOf(pool, conferenceId, personId), (others) =>
        counted(others.length, 'game report'),
      );
      return reply.page(
        'letters/own',
        {
          letters: letters.here.map((letter) => ({ ...letter, title: kindTitles[letter.kind] })),
          elsewhere: [...letters.elsewhere, ...games.elsewhere],
          games: games.here,
          personId,
        },
        { title: 'My letters' },
      );
    },
  );
}
