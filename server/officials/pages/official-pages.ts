import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { fullName } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Session } from '../../accounts/session.ts';
import type { Season } from '../../database/generated/client.ts';
import { watchableGames } from '../../films/watchable.ts';
import { officialLines } from '../../knowledge/official-lines.ts';
import { readSeasonGames } from '../../schedule/season-overview.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { readWholeSeason } from '../official-season.ts';
import { officialView } from './official-view.ts';
import { rulesView } from './rules-view.ts';

/** One official's season on one page: for the coordinator any official's, for an official their own, as released. */
export async function officialPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  async function viewOf(season: Season, personId: string, isOwn: boolean, session: Session) {
    const whole = await readWholeSeason(database, app.results, season, personId);
    const games = await readSeasonGames(database.pool, season.conferenceId, season.id);
    const byId = new Map(games.map((game) => [game.id, game]));
    const watchable = await watchableGames(database.pool, session, byId.keys());
    const view = officialView(whole, {
      ...{ isOwn, now: new Date(), games: byId, timeZone: session.timeZone, watchable },
    });
    const lines = await officialLines(database.pool, season.conferenceId, season.id, personId);
    return { ...view, rules: rulesView(lines, view.positions) };
  }

  pages.get(
    '/seasons/:seasonId/officials/:personId',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: z.object({ seasonId: z.uuid(), personId: z.uuid() }) },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const { conferenceId } = session;
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const view = await viewOf(season, request.params.personId, false, session);
      return reply.page('officials/official', view, {
        title: fullName(view.official),
        width: 'wide',
      });
    },
  );

  pages.get(
    '/my/evaluation',
    { config: { policy: policies.official }, schema: { hide: true } },
    async (request, reply) => {
      const session = sessionOf(request);
      const { personId } = session;
      const season = await seasonInView(database, request);
      if (!season) return reply.page('results/no-evaluation', {}, { title: 'My evaluation' });
      return reply.page('officials/official', await viewOf(season, personId, true, session), {
        title: 'My evaluation',
        width: 'wide',
      });
    },
  );
}
