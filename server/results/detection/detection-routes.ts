import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { detectionSchemas } from '../../reports/review/agreement-routes.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { keennessWords, strictnessWords } from './detection-words.ts';

const { share, population } = detectionSchemas;
const compared = z.enum(['more', 'less', 'not told apart']);

const detectionSchema = z.object({
  games: z.int().describe('Games with two released reports; of more than two, the two released first.'),
  both: z.int().describe('Misses noted by both observers of a game.'),
  one: z.int().describe('Misses noted by one of the two.'),
  differed: z.int().describe('Marked missed by one and done by the other; in no other number.'),
  seen: z
    .object({ value: z.number(), low: z.number(), high: z.number() })
    .nullable()
    .describe('The share of misses that an observer notes on average.'),
  misses: population,
  observers: z.array(
    z.object({
      observer: z.uuid(),
      games: z.int(),
      seen: share.describe('Of the misses that those beside them noted, how many they noted too.'),
      alone: share.describe('Of the misses that one of the two noted, how many it was they who noted.'),
      keen: compared,
      keenness: z.string(),
      against: share.describe('Of what both marked and judged differently, how much they took for missed.'),
      beyondKeenness: z
        .object({ points: z.number(), low: z.number(), high: z.number() })
        .nullable()
        .describe('Severity in points of a grade with what keenness makes of it taken off, 90 % interval.'),
      strict: compared,
      strictness: z.string(),
      misses: population,
    }),
  ),
});

/** What games that two observers saw tell of misses overlooked and of observers, under /api. */
export async function detectionRoutes(app: FastifyInstance): Promise<void> {
  app.withTypeProvider<ZodTypeProvider>().get(
    '/api/seasons/:seasonId/detection',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['standings'],
        summary:
          'Misses that observers overlook, by the games that two of them saw; keen told apart from strict',
        params: z.object({ seasonId: z.uuid() }),
        response: { 200: detectionSchema },
      },
    },
    async (request) => {
      const season = await seasonOf(app.database, sessionOf(request).conferenceId, request.params.seasonId);
      const found = await app.results.detectionOf(season.conferenceId, season.id);
      return {
        ...found,
        observers: found.observers.map((row) => ({
          ...row,
          keenness: keennessWords(row),
          strictness: strictnessWords(row),
        })),
      };
    },
  );
}
