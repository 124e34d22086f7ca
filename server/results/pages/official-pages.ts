import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { byKind } from '../../grading/grade-kinds.ts';
import { readDutyTitles } from '../../rubric/duty-titles.ts';
import { readSeasonGames } from '../../schedule/season-overview.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { notFound } from '../../web/problem.ts';
import { kindsOf } from '../standings/explained-grade.ts';
import { officialSeason } from '../standings/official-season.ts';
import { readOfficialShares } from '../standings/official-shares.ts';
import { readSeasonCounts } from '../standings/season-counts.ts';
import { kindRows } from './kind-rows.ts';
import { watchedBy } from './watched-by.ts';

/** One official's season: for the coordinator any official's, for an official their own. Released material only. */
export async function officialPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  async function evaluationView(season: Season, personId: string, ownPage: boolean) {
    const { conferenceId } = season;
    const official = (await readPeople(database, conferenceId)).get(personId);
    if (!official) throw notFound('official');
    const counts = await readSeasonCounts(database.pool, conferenceId, season.id, personId);
    const titles = await readDutyTitles(database.pool, conferenceId, season.id);
    const games = new Map(
      (await readSeasonGames(database.pool, conferenceId, season.id)).map((game) => [game.id, game]),
    );
    const evaluation = officialSeason(counts, personId);
    const standings = await app.results.allStandingsOf(conferenceId, season.id);
    const shares = await readOfficialShares(database.pool, { conferenceId, seasonId: season.id, personId });
    return {
      season,
      official,
      ownPage,
      positions: evaluation.positions.map(({ position, games, grades }) => {
        const kinds = kindsOf(grades, standings, { personId, position });
        const { whole } = grades;
        return {
          position,
          games,
          shares: shares.find((one) => one.position === position),
          value: whole.grade,
          reason: kinds.whole.reason,
          adjusted: kinds.whole.adjusted && {
            ...kinds.whole.adjusted,
            unsure: errorUnknown(kinds.whole.adjusted),
          },
          kinds: kindRows(kinds),
          contributions:
            whole.grade === null
              ? []
              : whole.contributions
                  .filter((duty) => duty.pointsLost > 0)
                  .map((duty) => ({
                    ...duty,
                    title: titles.get(duty.duty) ?? duty.duty,
                    misses: duty.opportunities - duty.met,
                  })),
        };
      }),
      games: evaluation.games.map(({ grades, ...row }) => ({
        ...row,
        grades: byKind((kind) => grades[kind].grade),
        game: games.get(row.gameId),
        watchedBy: watchedBy(row.observers),
      })),
      repeatMisses: evaluation.repeatMisses.map((row) => ({
        ...row,
        title: titles.get(row.dutyKey) ?? row.dutyKey,
      })),
    };
  }

  pages.get(
    '/seasons/:seasonId/officials/:personId',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: z.object({ seasonId: z.uuid(), personId: z.uuid() }) },
    },
    async (request, reply) => {
      const season = await seasonOf(database, request.session!.conferenceId, request.params.seasonId);
      const view = await evaluationView(season, request.params.personId, false);
      return reply.page('results/official', view, {
        title: `${view.official.givenName} ${view.official.familyName}`,
      });
    },
  );

  pages.get(
    '/my/evaluation',
    { config: { policy: policies.official }, schema: { hide: true } },
    async (request, reply) => {
      const season = await seasonInView(database, request);
      if (!season) return reply.page('results/no-evaluation', {}, { title: 'My evaluation' });
      return reply.page('results/official', await evaluationView(season, request.session!.personId, true), {
        title: 'My evaluation',
      });
    },
  );
}
