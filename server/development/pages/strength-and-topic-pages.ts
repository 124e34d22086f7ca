import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { readModelPlays } from '../../results/patterns/model-plays.ts';
import { namedPatterns, readNames } from '../../results/patterns/named-patterns.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { weekSpan, weekStrip } from '../../web/week-strip.ts';
import { evidenceView, playsQuery } from './evidence-view.ts';
import { patternTabs } from './pattern-tabs.ts';

/** What a season's patterns give to teach: duties missed most, and plays worth showing. */
export async function strengthAndTopicPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });

  pages.get(
    '/seasons/:seasonId/patterns/training-topics',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const found = await namedPatterns(database, app.results, season.conferenceId, season.id);
      const missed = found.conference.filter((row) => row.misses > 0);
      const span = weekSpan(found.conference.map((row) => row.weeks));
      const weeks = [];
      for (let week = span.first; week <= span.last; week++) {
        const top = missed
          .map((row) => ({ row, of: row.weeks.find((entry) => entry.week === week) }))
          .filter(({ of }) => of !== undefined && of.misses > 0)
          .map(({ row, of }) => ({ title: row.title, ...of!, cost: row.weight * of!.misses }))
          .sort((a, b) => b.cost - a.cost)
          .slice(0, 3);
        const unusual = found.weeks.filter((row) => row.week === week);
        if (top.length > 0 || unusual.length > 0) weeks.push({ week, top, unusual });
      }
      const view = {
        ...patternTabs(season, '/training-topics'),
        duties: missed.slice(0, 15).map((row) => ({
          ...row,
          strip: weekStrip(
            row.weeks.map((week) => ({ ...week, expected: row.missRate * week.opportunities })),
            span.first,
            span.last,
          ),
          trendWord: row.trend.direction === 'no clear trend' ? null : row.trend.direction,
        })),
        weeks,
        family: found.families.weeks,
        settings: found.settings,
      };
      return reply.page('development/training-topics', view, { title: 'Training topics', width: 'wide' });
    },
  );

  pages.get(
    '/seasons/:seasonId/patterns/strengths',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const found = await namedPatterns(database, app.results, season.conferenceId, season.id);
      const span = weekSpan(found.strengths.map((row) => row.weeks));
      const view = {
        ...patternTabs(season, '/strengths'),
        strengths: found.strengths
          .filter((row) => row.situationCut === null)
          .map((row) => ({
            ...evidenceView(row, span),
            fewer: row.kind === 'fewer misses',
            plays: `/seasons/${season.id}/officials/${row.official}/pattern?${playsQuery(row, 'model')}`,
          })),
        models: await modelPlays(season),
        family: found.families.strengths,
        settings: found.settings,
      };
      return reply.page('development/strengths', view, { title: 'Strengths', width: 'wide' });
    },
  );

  /** Model plays of the season by official and duty, most first: what can be shown to others. */
  async function modelPlays(season: Season) {
    const rows = await readModelPlays(pool, season.conferenceId, season.id);
    const names = await readNames(database, season.conferenceId, season.id);
    return rows.map((row) => ({
      ...row,
      official: names.people.get(row.personId),
      title: names.duties.get(row.dutyKey)?.title ?? row.dutyKey,
      link: `/seasons/${season.id}/officials/${row.personId}/pattern?${playsQuery({ position: row.position, duty: row.dutyKey, situationCut: null }, 'model')}`,
    }));
  }
}
