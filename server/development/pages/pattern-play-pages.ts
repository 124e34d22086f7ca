import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { fullName } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { watchAddress, watchableGames } from '../../films/watchable.ts';
import { namedPatterns, readNames } from '../../results/patterns/named-patterns.ts';
import { readPatternPlays } from '../../results/patterns/pattern-plays.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { notFound } from '../../web/problem.ts';
import { weekSpan } from '../../web/week-strip.ts';
import { followedPoints } from '../followed-points.ts';
import { evidenceView, patternPlaysQuery } from './evidence-view.ts';

/** One official's pattern with the plays behind it. */
export async function patternPlayPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  pages.get(
    '/seasons/:seasonId/officials/:personId/pattern',
    {
      config,
      schema: {
        hide: true,
        params: z.object({ seasonId: z.uuid(), personId: z.uuid() }),
        querystring: patternPlaysQuery,
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { personId } = request.params;
      const { which, ...of } = request.query;
      const names = await readNames(database, conferenceId, season.id);
      const official = names.people.get(personId);
      const duty = names.duties.get(of.dutyKey);
      if (!official || !duty) throw notFound('pattern');
      const found = await namedPatterns(database, app.results, conferenceId, season.id);
      const row = found.patterns.find(
        (pattern) =>
          pattern.official === personId &&
          pattern.position === of.position &&
          pattern.duty === of.dutyKey &&
          (pattern.situationCut ?? '') === of.situationCut,
      );
      const plays = await readPatternPlays(
        pool,
        { conferenceId, seasonId: season.id, personId, ...of },
        which,
      );
      const points = await followedPoints(database, app.results, conferenceId, season.id, personId);
      const point = points.find(
        (other) =>
          other.dutyKey === of.dutyKey &&
          other.position === of.position &&
          other.situationCut === of.situationCut,
      );
      const watchable = await watchableGames(
        pool,
        sessionOf(request),
        plays.map(({ gameId }) => gameId),
      );
      const view = {
        season,
        official,
        personId,
        duty,
        ...of,
        showing: which === 'model',
        pattern: row ? evidenceView(row, weekSpan([row.weeks])) : null,
        elsewhere: row?.elsewhere && row.elsewhere.opportunities > 0 ? row.elsewhere : null,
        onlyHere: row?.onlyHere,
        plays: plays.map((play) => ({ ...play, film: watchAddress(watchable, play) })),
        point,
      };
      return reply.page('development/plays', view, {
        title: `${fullName(official)}: ${duty.title}`,
        width: 'wide',
      });
    },
  );
}
