import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { readWeeks, type SeasonWeek } from '../../schedule/season-weeks.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { isOver, weekNow } from '../../schedule/week-now.ts';
import { addressWith, pagesOf, pagingOf } from '../../web/paging.ts';
import { dayIn } from '../../web/today.ts';
import { searchPatterns } from '../search-words.ts';
import { countGames, type GameLine, gameStates, listGames, readSeasonSum } from '../stores/games-store.ts';
import { choices, listTabs } from './list-head.ts';
import { gamesQuery } from './list-query.ts';

const size = 60;

/** The coordinator's list of a season's games: this week's, another's, or what a search finds in all. */
export async function gamesPages(app: FastifyInstance): Promise<void> {
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
      schema: { hide: true, params: z.object({ seasonId: z.uuid() }), querystring: gamesQuery },
    },
    async (request, reply) => {
      const { conferenceId, timeZone } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return app.reading(request, async ({ pool }) => {
        const { find, state, week: asked, page = 1 } = request.query;
        const days = await readWeeks(pool, conferenceId, season.id);
        const sum = await readSeasonSum(pool, conferenceId, season.id);
        const today = dayIn(timeZone);
        const now = weekNow(days, sum.gameDays, today);
        const thisWeek = isOver(days, sum.gameDays, today) ? null : now;
        // A search or a filter is of the whole season unless it names a week.
        const week = asked === 'all' ? null : (asked ?? (find || state ? null : now));
        const wanted = { week, patterns: searchPatterns(find), state: state ?? null };
        const total = await countGames(pool, conferenceId, season.id, wanted);
        const address = `/seasons/${season.id}`;
        const kept = { find, state, week: asked === undefined ? undefined : String(asked) };
        const paging = pagingOf({ asked: page, total, size }, address, kept);
        const games = await listGames(pool, conferenceId, season.id, wanted, {
          limit: size,
          offset: (Math.min(page, pagesOf(total, size)) - 1) * size,
        });
        const weekTab = (value: string, label: string, here: boolean) => ({
          href: addressWith(address, { find, state, week: value }),
          label,
          here,
        });
        return reply.page(
          'season-lists/games',
          {
            season,
            find,
            tabs: await listTabs(pool, conferenceId, season.id, 'games', find),
            states: choices(
              [{ value: '', label: 'any' }, ...gameStates.map((value) => ({ value, label: value }))],
              state,
            ),
            asked: kept.week,
            weeks: [
              ...weeksShown(days, sum.weeks).map((number) =>
                weekTab(
                  String(number),
                  number === thisWeek ? `${number}, this week` : String(number),
                  number === week,
                ),
              ),
              weekTab('all', 'all weeks', week === null),
            ],
            paging,
            sum,
            toReview: sum.reports.filed ?? 0,
            toRelease: sum.reports.accepted ?? 0,
            released: sum.reports.released ?? 0,
            atWork: (sum.reports.draft ?? 0) + (sum.reports.returned ?? 0),
            groups: byWeek(games, days),
          },
          { title: season.name, width: 'wide' },
        );
      });
    },
  );
}

const stateTone: Record<string, string> = {
  released: 'good',
  accepted: 'good',
  returned: 'bad',
  filed: 'warn',
};

const weeksShown = (days: readonly SeasonWeek[], ofGames: readonly number[]) =>
  [...new Set([...days.map(({ number }) => number), ...ofGames])].sort((one, other) => one - other);

function byWeek(games: readonly GameLine[], days: readonly SeasonWeek[]) {
  const weeks = new Map<number, object[]>();
  for (const game of games) {
    const reports = game.reports.map((report) => ({ ...report, tone: stateTone[report.state] ?? '' }));
    weeks.set(game.week, [...(weeks.get(game.week) ?? []), { ...game, reports }]);
  }
  return [...weeks].map(([week, lines]) => ({
    week,
    days: days.find(({ number }) => number === week),
    games: lines,
  }));
}
