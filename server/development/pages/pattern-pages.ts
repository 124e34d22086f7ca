import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { namedPatterns, readNames } from '../../results/patterns/named-patterns.ts';
import { changePatternSettings, patternSettingsSchema } from '../../results/patterns/pattern-settings.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { errorsOf, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { weekSpan } from '../../web/week-strip.ts';
import { followedPoints } from '../followed-points.ts';
import { developmentList } from './development-pages.ts';
import { evidenceView, playsQuery } from './evidence-view.ts';
import { patternTabs } from './pattern-tabs.ts';

/** The coordinator's view of a season's patterns: repeat misses and their settings, crews, development points. */
export async function patternPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });

  pages.get('/patterns', { config, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/patterns` : '/season');
  });

  async function repeatMisses(
    request: FastifyRequest,
    season: Season,
    errors: FormErrors = {},
    values?: Record<string, string>,
  ) {
    const { conferenceId } = season;
    const found = await app.reading(request, (from) =>
      namedPatterns(from, from.results, conferenceId, season.id),
    );
    const points = await followedPoints(database, app.results, conferenceId, season.id);
    const span = weekSpan(found.patterns.map((row) => row.weeks));
    const pointOf = (row: (typeof found.patterns)[number]) =>
      points.find(
        (point) =>
          point.personId === row.official &&
          point.position === row.position &&
          point.dutyKey === row.duty &&
          point.situationCut === (row.situationCut ?? ''),
      );
    const view = (row: (typeof found.patterns)[number]) => ({
      ...evidenceView(row, span),
      plays: `/seasons/${season.id}/officials/${row.official}/pattern?${playsQuery(row, 'not met')}`,
      point: pointOf(row),
    });
    return {
      ...patternTabs(season, ''),
      patterns: found.patterns
        .filter((row) => row.headline)
        .map((row) => ({
          ...view(row),
          details: found.patterns
            .filter(
              (other) =>
                !other.headline &&
                other.official === row.official &&
                other.duty === row.duty &&
                other.position === row.position,
            )
            .map((other) => other.situationCut ?? 'the whole duty'),
        })),
      family: found.families.officials,
      settings: found.settings,
      errors,
      values: values ?? {
        falseDiscoveryRate: String(found.settings.falseDiscoveryRate),
        minimumOpportunities: String(found.settings.minimumOpportunities),
        minimumGames: String(found.settings.minimumGames),
      },
    };
  }

  pages.get(
    '/seasons/:seasonId/patterns',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      return reply.page('development/misses', await repeatMisses(request, season), {
        title: 'Repeat misses',
        width: 'wide',
      });
    },
  );

  pages.post(
    '/seasons/:seasonId/patterns/settings',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      const form = formOf(request.body);
      const values = {
        falseDiscoveryRate: textOf(form.falseDiscoveryRate),
        minimumOpportunities: textOf(form.minimumOpportunities),
        minimumGames: textOf(form.minimumGames),
      };
      const number = (text: string) => (text.trim() === '' ? Number.NaN : Number(text));
      const parsed = patternSettingsSchema.safeParse({
        falseDiscoveryRate: number(values.falseDiscoveryRate),
        minimumOpportunities: number(values.minimumOpportunities),
        minimumGames: number(values.minimumGames),
      });
      if (!parsed.success) {
        const view = await repeatMisses(request, season, errorsOf(parsed.error), values);
        return reply
          .code(400)
          .page('development/misses', view, { title: 'Repeat misses: settings to mend', width: 'wide' });
      }
      await changePatternSettings(pool, session, season.id, parsed.data);
      return reply.redirect(`/seasons/${season.id}/patterns`, 303);
    },
  );

  pages.get(
    '/seasons/:seasonId/patterns/crews',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const found = await namedPatterns(database, app.results, season.conferenceId, season.id);
      const span = weekSpan(found.crews.map((row) => row.weeks));
      const view = {
        ...patternTabs(season, '/crews'),
        crews: found.crews.map((row) => ({ ...evidenceView(row, span) })),
        family: found.families.crews,
        settings: found.settings,
      };
      return reply.page('development/crews', view, { title: 'Crew patterns', width: 'wide' });
    },
  );

  pages.get(
    '/seasons/:seasonId/patterns/development-points',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const points = await followedPoints(database, app.results, season.conferenceId, season.id);
      const names = await readNames(database, season.conferenceId, season.id);
      const view = { ...patternTabs(season, '/development-points'), ...developmentList(points, names) };
      return reply.page('development/development-points', view, {
        title: 'Development points',
        width: 'wide',
      });
    },
  );
}
