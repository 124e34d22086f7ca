import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { situationCuts } from '../../patterns/situation-cuts.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { exactText } from '../../text/typed-text.ts';
import { csvChoice, sendCsv } from '../../web/csv-file.ts';
import { namedPatterns, ownPatterns } from './named-patterns.ts';
import { ownPatternsSchema, seasonPatternsSchema } from './pattern-answers.ts';
import { readPatternPlays } from './pattern-plays.ts';
import { changePatternSettings, patternSettingsSchema, readPatternSettings } from './pattern-settings.ts';
import { patternsCsv, patternTables } from './patterns-csv.ts';

const promiseInDocs =
  'Each list controls itself: where nobody differs, a season shows anything at all in it with at most the probability set (falseDiscoveryRate, 0.1 unless changed), and of what it lists at most that share is expected to be chance. The promise is made list by list, not for all together. A trend is named only where it stands among all trends of its list, by the same rule. The list of training topics (conference) is a plain ranking; only its trends are tested.';

const seasonId = z.object({ seasonId: z.uuid() });
const officialInSeason = z.object({ seasonId: z.uuid(), personId: z.uuid() });

const play = z.object({
  observationId: z.uuid(),
  playId: z.uuid(),
  gameId: z.uuid(),
  week: z.number(),
  home: z.string(),
  visitor: z.string(),
  number: z.number(),
  kind: z.string(),
  spot: z.number(),
  quarter: z.number().nullable(),
  clockSeconds: z.number().nullable(),
  down: z.number().nullable(),
  distance: z.number().nullable(),
  filmSeconds: z.number().nullable(),
  filmLink: z.string().nullable(),
  finding: z.string(),
  consequence: z.string().nullable(),
  observers: z.int().describe('How many observers marked it; they are never named.'),
  comment: z.string().describe('What they wrote, in one.'),
});

/** Patterns as JSON and CSV. */
export async function patternRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;

  routes.get(
    '/api/seasons/:seasonId/patterns',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['patterns'],
        summary: 'Repeat misses, strengths, crew and conference patterns of a season',
        description: promiseInDocs,
        params: seasonId,
        response: { 200: seasonPatternsSchema },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return app.reading(request, (from) => namedPatterns(from, from.results, conferenceId, season.id));
    },
  );

  routes.get(
    '/api/seasons/:seasonId/patterns.csv',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['patterns'],
        summary: 'One of the lists as CSV (RFC 4180)',
        description: promiseInDocs,
        params: seasonId,
        querystring: z.object({ table: z.enum(patternTables).default('officials'), ...csvChoice }),
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { table } = request.query;
      const patterns = await app.reading(request, (from) =>
        namedPatterns(from, from.results, conferenceId, season.id),
      );
      return sendCsv(reply, `patterns-${table}`, patternsCsv(table, patterns), request.query);
    },
  );

  routes.get(
    '/api/seasons/:seasonId/officials/:personId/patterns',
    {
      config: { policy: policies.ownEvaluation },
      schema: {
        tags: ['patterns'],
        summary: "One official's own patterns and strengths, without any colleague's name",
        params: officialInSeason,
        response: { 200: ownPatternsSchema },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return ownPatterns(database, app.results, conferenceId, season.id, request.params.personId);
    },
  );

  routes.get(
    '/api/seasons/:seasonId/officials/:personId/pattern-plays',
    {
      config: { policy: policies.ownEvaluation },
      schema: {
        tags: ['patterns'],
        summary: 'The plays behind a pattern or strength',
        params: officialInSeason,
        querystring: z.object({
          position: z.enum(positions),
          dutyKey: exactText({ most: 100 }),
          situationCut: z.enum(['', ...situationCuts.map(({ key }) => key)]).default(''),
          which: z.enum(['not met', 'model']).default('not met'),
        }),
        response: { 200: z.array(play) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      const { which, ...of } = request.query;
      return readPatternPlays(
        pool,
        { conferenceId, seasonId: season.id, personId: request.params.personId, ...of },
        which,
      );
    },
  );

  routes.get(
    '/api/seasons/:seasonId/pattern-settings',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['patterns'],
        summary: 'How patterns are found',
        params: seasonId,
        response: { 200: patternSettingsSchema },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return readPatternSettings(database, conferenceId, season.id);
    },
  );

  routes.put(
    '/api/seasons/:seasonId/pattern-settings',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['patterns'],
        summary: 'Change how patterns are found',
        params: seasonId,
        body: patternSettingsSchema,
        response: { 200: patternSettingsSchema },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
      await changePatternSettings(pool, session, season.id, request.body);
      return readPatternSettings(database, session.conferenceId, season.id);
    },
  );
}
