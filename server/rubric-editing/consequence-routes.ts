import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { inTransaction } from '../database/transaction.ts';
import { changeConsequenceWeights, consequenceWeightsSchema } from '../rubric/consequence-weights.ts';
import { RubricChangeRefused, WeightsChangedMeanwhile } from '../rubric/refusals.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { typedText } from '../text/typed-text.ts';
import { conflict, invalid } from '../web/problem.ts';

/** What calls weigh by what they cost, under /api. They are read with the rubric. */
export async function consequenceRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  api.put(
    '/api/seasons/:seasonId/rubric/consequence-weights',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['rubric'],
        summary: 'Change what calls weigh by what they cost; reports filed before keep their weights',
        params: z.object({ seasonId: z.uuid() }),
        body: z.strictObject({
          weights: consequenceWeightsSchema,
          seen: consequenceWeightsSchema.describe('The weights that the change is based on.'),
          note: typedText({ most: 500 }).default('').describe('Why, for the audit trail.'),
        }),
        response: { 200: z.object({ number: z.int(), newVersion: z.boolean() }) },
      },
    },
    async (request) => {
      const actor = sessionOf(request);
      const season = await seasonOf(database, actor.conferenceId, request.params.seasonId);
      const { note, ...change } = request.body;
      try {
        const { number, newVersion } = await inTransaction(database.pool, (client) =>
          changeConsequenceWeights(client, actor, season.id, change, note),
        );
        return { number, newVersion };
      } catch (error) {
        if (error instanceof WeightsChangedMeanwhile) throw conflict(error.message);
        if (error instanceof RubricChangeRefused) {
          throw invalid(error.refusals.map(({ field, reason }) => ({ field, message: reason })));
        }
        throw error;
      }
    },
  );
}
