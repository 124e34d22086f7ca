import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { notFound } from '../../web/problem.ts';
import { gameAgreement } from './agreement.ts';
import { id, tags } from './review-schemas.ts';

const agreementSchema = z.object({
  dutyKey: z.string(),
  title: z.string(),
  judged: z.int(),
  bothMet: z.int(),
  bothNotMet: z.int(),
  onlyFirst: z.int(),
  onlySecond: z.int(),
  agreed: z.object({ share: z.number(), low: z.number(), high: z.number() }).nullable(),
  kappa: z.object({
    value: z.number().nullable(),
    reason: z.string().optional(),
    low: z.number().optional(),
    high: z.number().optional(),
    coverage: z.number().optional(),
    method: z.string().optional(),
  }),
});

const shareSchema = z
  .object({ some: z.int(), of: z.int(), value: z.number(), low: z.number(), high: z.number() })
  .nullable()
  .describe('A share with its exact 95 % interval (Clopper and Pearson 1934); null of none.');

const populationSchema = z
  .object({
    found: z.int().describe('Noted by either.'),
    estimate: z.number().describe('Chapman (1951): all misses, noted or not. A lower bound.'),
    standardError: z.number().describe('By the variance of Seber (1970).'),
    low: z.number(),
    high: z.number().nullable().describe('null: none was noted by both, so nothing bounds it.'),
    coverage: z.number(),
  })
  .describe(
    'How many misses there were, by the two-sample estimate, with a score interval never below `found`.',
  );

export const detectionSchemas = { share: shareSchema, population: populationSchema };

/** Two reports on one game beside each other. */
export async function agreementRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  routes.get(
    '/api/games/:gameId/agreement',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Two reports on one game: agreement overall and per duty',
        description:
          'Share agreed with Wilson’s interval (1927), and Cohen’s kappa (1968) of met and not met, over the opportunities that both observers could tell.',
        params: z.object({ gameId: id }),
        querystring: z.object({ first: id.optional(), second: id.optional() }),
        response: {
          200: z.object({
            first: z.string(),
            second: z.string(),
            overall: agreementSchema,
            duties: z.array(agreementSchema),
            detection: z.object({
              both: z.int().describe('Misses noted by both.'),
              onlyFirst: z.int(),
              onlySecond: z.int(),
              firstAgainst: z.int().describe('Marked missed in the first report, done in the second.'),
              secondAgainst: z.int(),
              firstSees: shareSchema,
              secondSees: shareSchema,
              misses: populationSchema,
            }),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const found = await gameAgreement(pool, conferenceId, request.params.gameId, request.query);
      if (!found) throw notFound('pair of reports on this game');
      const sees = (observer: string) =>
        found.detection.observers.find((row) => row.observer === observer)?.seen ?? null;
      return {
        first: found.first.id,
        second: found.second.id,
        overall: { ...found.overall, title: 'All duties' },
        duties: found.duties,
        detection: {
          ...found.samples,
          firstSees: sees(found.samples.first),
          secondSees: sees(found.samples.second),
          misses: found.detection.misses,
        },
      };
    },
  );
}
