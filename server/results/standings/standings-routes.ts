import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { gradeKinds } from '../../grading/grade-kinds.ts';
import { seasonModels } from '../../grading/season-choice.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { adjustedSchema, ofSeason, points, settingsSchema } from './standings-schemas.ts';

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

/** Standings of a season, under /api. */
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
}
