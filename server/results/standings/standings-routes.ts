import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { consequences } from '../../duties/consequence.ts';
import { positions } from '../../football/positions.ts';
import { gradeKinds } from '../../grading/grade-kinds.ts';
import { seasonModels } from '../../grading/season-choice.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { keennessWords, strictnessWords } from '../detection/detection-words.ts';
import { explainGrades } from './explained-grade.ts';
import { observerSeverityWords } from './severity-words.ts';
import {
  calibrationSettingSchema,
  keepCalibrationSetting,
  keepLastSeasonSetting,
  keepModelSetting,
  keepStandingsSettings,
  lastSeasonSettingSchema,
  modelSettingSchema,
  standingsSettingsSchema,
} from './standings-settings.ts';

const ofSeason = z.object({ seasonId: z.uuid() });
const points = z.number();

const adjustedSchema = z.object({
  grade: points,
  standardError: points,
  low: points.describe('Lower end of the 90% interval.'),
  high: points,
  reliability: z.number().describe('0 says nothing of the official, 1 all.'),
  parts: z.object({ observers: points, games: points, caution: points }).describe('raw + parts = adjusted'),
});

const settingsSchema = z.object({
  minimumGames: z.int(),
  minimumOpportunities: z.int(),
  places: z.int().describe('Places for postseason in each position.'),
  fixedModel: z
    .enum(seasonModels)
    .optional()
    .describe("Fixed by the coordinator; left out, the season's own games decide."),
});

const lineSchema = z.object({
  personId: z.uuid(),
  position: z.enum(positions),
  raw: points.nullable().describe('Grade as marked; null without a counted opportunity.'),
  games: z.int(),
  opportunities: z.int(),
  misses: z.int(),
  adjusted: adjustedSchema.nullable(),
  rank: z
    .object({
      place: z.int(),
      tied: z.boolean(),
      median: z.number(),
      low: z.int(),
      high: z.int(),
      topProbability: z.number(),
    })
    .nullable()
    .describe('Among the eligible of the same position and comparable group.'),
  placeChance: z.number().nullable(),
  unrankedReason: z.string().nullable(),
  group: z.int().describe('Officials of different groups cannot be compared.'),
  before: z.object({ place: z.int().nullable(), adjusted: points.nullable() }).nullable(),
});

const standingsSchema = z.object({
  by: z.enum(gradeKinds).describe('The grade that ranks: of all duties, of calls only, of mechanics only.'),
  model: z.object({
    used: z
      .enum(seasonModels)
      .describe(
        'linear: observers and games add points to a grade, in each position in proportion to what it usually loses. counts: they multiply misses.',
      ),
    chosen: z
      .boolean()
      .describe('The one that the season uses everywhere; false when another was asked for.'),
    why: z.string(),
    heldOut: z
      .object({ linear: points.nullable(), counts: points.nullable() })
      .nullable()
      .describe('Error in points of grades predicted from all other games; null when not looked at.'),
  }),
  inputRevision: z.int(),
  settings: settingsSchema,
  week: z.int().nullable(),
  reports: z.int(),
  lines: z.array(lineSchema),
  spread: z
    .object({
      official: points,
      observer: points,
      game: points,
      officialInGame: points.describe('Of an official from one evening to the next.'),
      observerInPosition: points.describe('Of an observer from one position to the next.'),
      residual: points.describe("Of a game grade of the season's mean weight, by chance."),
    })
    .nullable()
    .describe('Standard deviations.'),
  groups: z.array(z.object({ officials: z.array(z.uuid()), observers: z.array(z.uuid()) })),
  notes: z.array(z.string()),
  clips: z
    .object({
      observers: z.int(),
      withoutReport: z.int().describe('Of the observers those who reported on no game; they are not listed.'),
      clips: z.int(),
      marks: z.int(),
      joined: z
        .int()
        .describe(
          'How many groups of officials fewer there are than reports alone link: common clips link the rest.',
        ),
      reason: z.string().nullable().describe('Why none are taken in; null where some are.'),
    })
    .nullable()
    .describe(
      'Marks of clips taken in beside the reports, for how strict observers are; null where the season goes by reports alone.',
    ),
  lastSeason: z
    .object({
      seasonId: z.uuid(),
      name: z.string(),
      officials: z.int().describe('Who served in both seasons.'),
      newcomers: z.int().describe('Who is graded by this season alone.'),
      correlation: z.number().describe('How like themselves officials stayed, 0 to 1.'),
      correlationError: z.number().describe('Its standard error.'),
      reason: z.string().nullable().describe('Why nothing is taken in; null where something is.'),
    })
    .nullable()
    .describe(
      'What officials showed in the season before, taken in beside the reports; null where grades go by this season alone.',
    ),
});

const severitySchema = z.object({
  observerId: z.uuid(),
  games: z.int(),
  officialReports: z.int(),
  points: points.nullable().describe('Below 0 strict, above 0 lenient.'),
  low: points.nullable(),
  high: points.nullable(),
  meaning: z.string(),
  group: z.int(),
  keenness: z
    .string()
    .describe('Whether they find more of what is there; told by games that two observers saw.'),
  strictness: z.string().describe('Whether they mark more as missed of what both saw.'),
});

const kindSchema = z.object({
  raw: points.nullable().describe('Grade as marked; null without a counted opportunity of this kind.'),
  adjusted: adjustedSchema.nullable(),
  opportunities: z.int(),
  misses: z.int(),
  reason: z.string().nullable().describe('Why there is no grade.'),
});

const explainedSchema = z.object({
  position: z.enum(positions),
  raw: points.nullable(),
  adjusted: adjustedSchema.nullable(),
  opportunities: z.int(),
  misses: z.int(),
  calls: kindSchema.describe('The same over calls only.'),
  mechanics: kindSchema.describe('The same over mechanics only.'),
  games: z.array(
    z.object({
      gameId: z.uuid(),
      week: z.int(),
      observers: z.int().describe('Who watched them there; each chance is counted once all the same.'),
      opportunities: z.int(),
      misses: z.int(),
      grades: z.object({ whole: points.nullable(), calls: points.nullable(), mechanics: points.nullable() }),
    }),
  ),
  duties: z.array(
    z.object({
      key: z.string(),
      title: z.string(),
      opportunities: z.int(),
      misses: z.int(),
      differed: z.int().describe('Judged differently by two observers: in neither of the numbers.'),
      pointsLost: points,
      plays: z.array(
        z.object({
          playId: z.uuid(),
          gameId: z.uuid(),
          week: z.int(),
          number: z.int(),
          inWords: z.string(),
          finding: z.string(),
          consequence: z.enum(consequences).nullable().describe('What a call cost; null when not judged.'),
          observers: z.int().describe('How many observers marked it; they are never named.'),
          comment: z.string().describe('What they wrote, in one.'),
        }),
      ),
    }),
  ),
});

/** Standings, severity and explained grades, under /api. */
export async function standingsRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const tags = ['standings'];

  api.get(
    '/api/seasons/:seasonId/standings',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Standings of a season, of all positions or of one; by the whole grade, calls or mechanics',
        params: ofSeason,
        querystring: z.object({
          position: z.enum(positions).optional(),
          by: z.enum(gradeKinds).default('whole'),
          model: z
            .enum(seasonModels)
            .optional()
            .describe('To look at; left out, the one that the season uses.'),
        }),
        response: { 200: standingsSchema },
      },
    },
    async (request) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const { position, by, model } = request.query;
      const standings = await app.reading(request, ({ results }) =>
        results.standingsOf(season.conferenceId, season.id, by, model),
      );
      return {
        ...standings,
        clips: standings.clips ?? null,
        lastSeason: standings.lastSeason ?? null,
        lines: standings.lines.filter((line) => position === undefined || line.position === position),
      };
    },
  );

  api.put(
    '/api/seasons/:seasonId/standings/settings',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Who is ranked, and for how many places',
        params: ofSeason,
        body: standingsSettingsSchema,
        response: { 200: settingsSchema },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      await inTransaction(database.pool, (client) =>
        keepStandingsSettings(client, actor, season.id, request.body),
      );
      return request.body;
    },
  );

  api.put(
    '/api/seasons/:seasonId/standings/model',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: "The model of a season's standings: fixed, or by its own games",
        params: ofSeason,
        body: modelSettingSchema,
        response: { 200: modelSettingSchema },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      await inTransaction(database.pool, (client) =>
        keepModelSetting(client, actor, season.id, request.body),
      );
      return request.body;
    },
  );

  api.put(
    '/api/seasons/:seasonId/standings/calibration',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Whether marks of clips say, beside the reports, how strict observers are',
        description:
          'Of the season’s closed calibration sets, those of observers who handed in. They make surer how strict each observer is, and so what is taken out of grades for it; no grade moves because a clip shows somebody.',
        params: ofSeason,
        body: calibrationSettingSchema,
        response: { 200: calibrationSettingSchema },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      await inTransaction(database.pool, (client) =>
        keepCalibrationSetting(client, actor, season.id, request.body),
      );
      return request.body;
    },
  );

  api.put(
    '/api/seasons/:seasonId/standings/last-season',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Whether grades borrow strength from the season before',
        description:
          'What officials showed then stands beside this season’s reports as one more, uncertain, sight of them; how like themselves they stay is told by those who served in both. Whoever has changed much since is served worst by it. Best settled before the season and announced.',
        params: ofSeason,
        body: lastSeasonSettingSchema,
        response: { 200: lastSeasonSettingSchema },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      await inTransaction(database.pool, (client) =>
        keepLastSeasonSetting(client, actor, season.id, request.body),
      );
      return request.body;
    },
  );

  api.get(
    '/api/seasons/:seasonId/severity',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: "Observers' severity, strictest first",
        params: ofSeason,
        response: { 200: z.array(severitySchema) },
      },
    },
    async (request) => {
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const { observers } = await app.results.standingsOf(season.conferenceId, season.id);
      const detection = await app.results.detectionOf(season.conferenceId, season.id);
      const ofObserver = new Map(detection.observers.map((row) => [row.observer, row]));
      return observers.map((row) => ({
        observerId: row.observer,
        games: row.games,
        officialReports: row.rows,
        points: row.effect,
        low: row.effect === null ? null : row.low,
        high: row.effect === null ? null : row.high,
        meaning: observerSeverityWords(row),
        group: row.group,
        keenness: keennessWords(ofObserver.get(row.observer)),
        strictness: strictnessWords(ofObserver.get(row.observer)),
      }));
    },
  );

  api.get(
    '/api/seasons/:seasonId/officials/:personId/grade',
    {
      config: { policy: policies.ownEvaluation },
      schema: {
        tags,
        summary: "How an official's grades came about, down to the plays; released reports only",
        params: ofSeason.extend({ personId: z.uuid() }),
        response: { 200: z.array(explainedSchema) },
      },
    },
    async (request) => {
      const { personId } = request.params;
      const season = await seasonOf(database, sessionOf(request).conferenceId, request.params.seasonId);
      const { conferenceId, id: seasonId } = season;
      const standings = await app.results.allStandingsOf(conferenceId, seasonId);
      const grades = await explainGrades(database.pool, standings, { conferenceId, seasonId, personId });
      return grades.map(({ position, line, kinds, games, duties }) => ({
        position,
        raw: line.raw,
        adjusted: line.adjusted,
        opportunities: line.opportunities,
        misses: line.misses,
        calls: kinds.calls,
        mechanics: kinds.mechanics,
        games,
        duties,
      }));
    },
  );
}
