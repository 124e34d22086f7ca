import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies } from '../../accounts/policy.ts';
import { type GameLine, readSeasonGames } from '../season-overview.ts';
import { currentSeason, seasonOf } from '../seasons.ts';
import { noSeason } from './no-season.ts';

/** The coordinator's view of a season's weeks. */
export async function seasonPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  pages.get(
    '/season',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => {
      const season = await currentSeason(database, request.session!.conferenceId);
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
      const seasons = await database.prisma.season.findMany({
        where: { conferenceId },
        orderBy: { createdAt: 'desc' },
      });
      const games = await readSeasonGames(database.pool, conferenceId, season.id);
      return reply.page(
        'schedule/season',
        { season, otherSeasons: seasons.filter((other) => other.id !== season.id), ...seasonView(games) },
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

function seasonView(games: GameLine[]) {
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
    weeks: [...weeks].map(([week, lines]) => ({ week, games: lines })),
  };
}
