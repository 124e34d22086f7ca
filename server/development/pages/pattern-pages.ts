import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { positions } from '../../football/positions.ts';
import { filmAddress } from '../../games/film-address.ts';
import type { Evidence } from '../../patterns/evidence.ts';
import { situationCuts } from '../../patterns/situation-cuts.ts';
import { namedPatterns, readNames } from '../../results/patterns/named-patterns.ts';
import { readPatternPlays } from '../../results/patterns/pattern-plays.ts';
import { changePatternSettings, patternSettingsSchema } from '../../results/patterns/pattern-settings.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { exactText } from '../../text/typed-text.ts';
import { errorsOf, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';
import { weekSpan, weekStrip } from '../../web/week-strip.ts';
import { followedPoints } from '../followed-points.ts';
import { developmentList } from './development-pages.ts';
import { misses } from './peers-miss.ts';

/** The parts of the patterns section, in the order of its tabs. */
const tabs = [
  { path: '', label: 'Repeat misses' },
  { path: '/crews', label: 'Crews' },
  { path: '/training-topics', label: 'Training topics' },
  { path: '/strengths', label: 'Strengths' },
  { path: '/development-points', label: 'Development points' },
] as const;

export const patternPlaysQuery = z.object({
  position: z.enum(positions),
  dutyKey: exactText({ least: 1, most: 100 }),
  situationCut: z.enum(['', ...situationCuts.map(({ key }) => key)]).default(''),
  which: z.enum(['not met', 'model']).default('not met'),
});

/** Figures of a pattern as its row shows them. */
export function evidenceView(row: Evidence, span: { first: number; last: number }) {
  return {
    ...row,
    strip: weekStrip(row.weeks, span.first, span.last),
    sure: row.adjustedP < 0.001 ? 'below 0.001' : row.adjustedP.toFixed(3),
    trendWord: row.trend.direction === 'no clear trend' ? null : row.trend.direction,
    gamesVary: row.overdispersion > 1.05,
    peersMiss: misses(row.expected),
  };
}

/** Where a row's plays are. */
export const playsQuery = (
  row: { position: string; duty: string; situationCut: string | null },
  which: string,
) =>
  new URLSearchParams({
    position: row.position,
    dutyKey: row.duty,
    situationCut: row.situationCut ?? '',
    which,
  }).toString();

/** The coordinator's view of a season's patterns. */
export async function patternPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const params = z.object({ seasonId: z.uuid() });

  const shared = (season: Season, here: string) => ({
    season,
    tabs: tabs.map((tab) => ({ ...tab, here: tab.path === here })),
  });

  pages.get('/patterns', { config, schema: { hide: true } }, async (request, reply) => {
    const season = await seasonInView(database, request);
    return reply.redirect(season ? `/seasons/${season.id}/patterns` : '/season');
  });

  async function repeatMisses(season: Season, errors: FormErrors = {}, values?: Record<string, string>) {
    const { conferenceId } = season;
    const found = await namedPatterns(pool, app.results, conferenceId, season.id);
    const points = await followedPoints(pool, app.results, conferenceId, season.id);
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
      ...shared(season, ''),
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
      setAside: found.rowsOfSecondObservers,
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
      return reply.page('development/misses', await repeatMisses(season), {
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
        const view = await repeatMisses(season, errorsOf(parsed.error), values);
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
      const found = await namedPatterns(pool, app.results, season.conferenceId, season.id);
      const span = weekSpan(found.crews.map((row) => row.weeks));
      const view = {
        ...shared(season, '/crews'),
        crews: found.crews.map((row) => ({ ...evidenceView(row, span) })),
        family: found.families.crews,
        settings: found.settings,
      };
      return reply.page('development/crews', view, { title: 'Crew patterns', width: 'wide' });
    },
  );

  pages.get(
    '/seasons/:seasonId/patterns/training-topics',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const found = await namedPatterns(pool, app.results, season.conferenceId, season.id);
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
        ...shared(season, '/training-topics'),
        duties: missed.slice(0, 15).map((row) => ({
          ...row,
          ratePercent: (100 * row.missRate).toFixed(row.missRate < 0.02 ? 1 : 0),
          strip: weekStrip(
            row.weeks.map((week) => ({ ...week, expected: row.missRate * week.opportunities })),
            span.first,
            span.last,
          ),
          trendWord: row.trend.direction === 'no clear trend' ? null : row.trend.direction,
        })),
        weeks,
        family: found.families.weeks,
      };
      return reply.page('development/training-topics', view, { title: 'Training topics', width: 'wide' });
    },
  );

  pages.get(
    '/seasons/:seasonId/patterns/strengths',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const found = await namedPatterns(pool, app.results, season.conferenceId, season.id);
      const span = weekSpan(found.strengths.map((row) => row.weeks));
      const view = {
        ...shared(season, '/strengths'),
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
    const { rows } = await pool.query<{
      personId: string;
      position: string;
      dutyKey: string;
      plays: number;
    }>(
      `SELECT c.person_id AS "personId", c.position, c.duty_key AS "dutyKey", sum(c.model)::int AS plays
         FROM report r JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
        WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released' AND c.model > 0
        GROUP BY c.person_id, c.position, c.duty_key ORDER BY plays DESC, c.duty_key, c.person_id LIMIT 20`,
      [season.conferenceId, season.id],
    );
    const names = await readNames(pool, season.conferenceId, season.id);
    return rows.map((row) => ({
      ...row,
      official: names.people.get(row.personId),
      title: names.duties.get(row.dutyKey)?.title ?? row.dutyKey,
      link: `/seasons/${season.id}/officials/${row.personId}/pattern?${playsQuery({ position: row.position, duty: row.dutyKey, situationCut: null }, 'model')}`,
    }));
  }

  pages.get(
    '/seasons/:seasonId/patterns/development-points',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const points = await followedPoints(pool, app.results, season.conferenceId, season.id);
      const names = await readNames(pool, season.conferenceId, season.id);
      const view = { ...shared(season, '/development-points'), ...developmentList(points, names) };
      return reply.page('development/development-points', view, {
        title: 'Development points',
        width: 'wide',
      });
    },
  );

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
      const names = await readNames(pool, conferenceId, season.id);
      const official = names.people.get(personId);
      const duty = names.duties.get(of.dutyKey);
      if (!official || !duty) throw notFound('pattern');
      const found = await namedPatterns(pool, app.results, conferenceId, season.id);
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
      const points = await followedPoints(pool, app.results, conferenceId, season.id, personId);
      const point = points.find(
        (other) =>
          other.dutyKey === of.dutyKey &&
          other.position === of.position &&
          other.situationCut === of.situationCut,
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
        plays: plays.map((play) => ({ ...play, film: filmAddress(play.filmLink, play.filmSeconds) })),
        point,
      };
      return reply.page('development/plays', view, {
        title: `${official.givenName} ${official.familyName}: ${duty.title}`,
        width: 'wide',
      });
    },
  );
}
