import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { watchAddress, watchableGames } from '../../films/watchable.ts';
import { fewestPeersShown } from '../../patterns/evidence.ts';
import { ownPatterns } from '../../results/patterns/named-patterns.ts';
import { readDuties } from '../../results/patterns/pattern-counts.ts';
import { readPatternPlays } from '../../results/patterns/pattern-plays.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { notFound } from '../../web/problem.ts';
import { weekSpan, weekStrip } from '../../web/week-strip.ts';
import { followedPoints } from '../followed-points.ts';
import { shownToOfficial } from '../shown-to-official.ts';
import { pointView } from './development-pages.ts';
import { patternPlaysQuery, playsQuery } from './evidence-view.ts';
import { misses } from './peers-miss.ts';

/** An official's own patterns, strengths and development points: released material, and nobody else's name. */
export async function myPatternPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.official };

  pages.get('/my/patterns', { config, schema: { hide: true } }, async (request, reply) => {
    const { conferenceId, personId } = sessionOf(request);
    const season = await seasonInView(database, request);
    if (!season) return reply.page('results/no-evaluation', {}, { title: 'My patterns' });
    const own = await ownPatterns(database, app.results, conferenceId, season.id, personId);
    const duties = await readDuties(pool, conferenceId, season.id);
    const points = await followedPoints(database, app.results, conferenceId, season.id, personId);
    const span = weekSpan([...own.patterns, ...own.strengths].map((row) => row.weeks));
    const strip = (row: (typeof own.patterns)[number]) => weekStrip(row.weeks, span.first, span.last);
    const view = {
      season,
      patterns: own.patterns
        .filter((row) => row.headline)
        .map((row) => ({
          ...row,
          strip: strip(row),
          peersMiss: misses(row.expected),
          plays: `/my/patterns/plays?${playsQuery(row, 'not met')}`,
        })),
      strengths: own.strengths
        .filter((row) => row.situationCut === null)
        .map((row) => ({
          ...row,
          peersMiss: misses(row.expected),
          fewer: row.kind === 'fewer misses',
          plays: `/my/patterns/plays?${playsQuery(row, 'model')}`,
        })),
      fewestPeersShown,
      points: shownToOfficial(points).map((point) => pointView(point, { duties, people: new Map() })),
    };
    return reply.page('development/mine', view, { title: 'My patterns' });
  });

  pages.get(
    '/my/patterns/plays',
    { config, schema: { hide: true, querystring: patternPlaysQuery } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const season = await seasonInView(database, request);
      const { which, ...of } = request.query;
      const duty = season && (await readDuties(pool, conferenceId, season.id)).get(of.dutyKey);
      if (!season || !duty) throw notFound('pattern');
      const plays = await readPatternPlays(
        pool,
        { conferenceId, seasonId: season.id, personId, ...of },
        which,
      );
      const watchable = await watchableGames(
        pool,
        sessionOf(request),
        plays.map(({ gameId }) => gameId),
      );
      const view = {
        season,
        duty,
        ...of,
        showing: which === 'model',
        plays: plays.map((play) => ({ ...play, film: watchAddress(watchable, play) })),
      };
      return reply.page('development/my-plays', view, { title: duty.title, width: 'wide' });
    },
  );
}
