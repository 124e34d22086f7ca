import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies } from '../../accounts/policy.ts';
import { type GameLine, readSeasonGames } from '../season-overview.ts';
import { readWeeks, type SeasonWeek } from '../season-weeks.ts';
import { seasonInView, seasonOf } from '../seasons.ts';
import { noSeason } from './no-season.ts';

/** The coordinator's view of a season's weeks. */
export async function seasonPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  pages.get(
    '/season',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => {
      const season = await seasonInView(database, request);
      if (!season) return noSeason(reply);
      return reply.redirect(`/seasons/${season.id}`);
    },
  );

  pages.get(
    '/seasons/:seasonId',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: z.object({ seasonId: z.uuid() }) },
    },
    async (request, reply) => {
      const { conferenceId } = request.session!;
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const games = await readSeasonGames(database.pool, conferenceId, season.id);
      return reply.page(
        'schedule/season',
        { season, ...seasonView(games, await readWeeks(database.pool, conferenceId, season.id)) },
        { title: season.name, width: 'wide' },
      );
    },
  );
}

const stateTone: Record<string, string> = {
  released: 'good',
  accepted: 'good',
  returned: 'bad',
  filed: 'warn',
};

function seasonView(games: GameLine[], days: readonly SeasonWeek[]) {
  const reports = games.flatMap((game) => game.reports);
  const inState = (state: string) => reports.filter((report) => report.state === state).length;
  const weeks = new Map<number, object[]>();
  for (const game of games) {
    const line = {
      ...game,
      reports: game.reports.map((report) => ({ ...report, tone: stateTone[report.state] ?? '' })),
    };
    weeks.set(game.week, [...(weeks.get(game.week) ?? []), line]);
  }
  return {
    gameCount: games.length,
    unseen: games.filter((game) => game.reports.length === 0).length,
    released: inState('released'),
    toReview: inState('filed'),
    toRelease: inState('accepted'),
    atWork: inState('draft') + inState('returned'),
    weeks: [...weeks].map(([week, lines]) => ({
      week,
      days: days.find(({ number }) => number === week),
      games: lines,
    })),
  };
}
