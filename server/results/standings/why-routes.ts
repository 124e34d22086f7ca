import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { rankWays } from '../../grading/other-ways.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { notFound } from '../../web/problem.ts';
import { whyRanks } from './why-rank.ts';

const points = z.number();
const share = z.number().describe('0 to 1.');

const wayRankSchema = z
  .object({
    place: z.int(),
    tied: z.boolean(),
    low: z.int().describe('Lower end of the 90% interval.'),
    high: z.int(),
    ranked: z.int().describe('How many are ranked with them.'),
    placeChance: z.number().nullable(),
  })
  .nullable();

const whySchema = z.object({
  position: z.enum(positions),
  raw: points.nullable(),
  adjusted: points.nullable(),
  place: z.int().nullable(),
  unrankedReason: z.string().nullable(),
  places: z
    .object({ best: z.int(), worst: z.int() })
    .nullable()
    .describe('Best and worst place in any way of looking at it.'),
  strictestObserverId: z.uuid().nullable(),
  ways: z.array(
    z.object({
      way: z.enum(rankWays),
      stands: z.boolean().describe('Whether the standings are by it.'),
      adjusted: points.nullable(),
      rank: wayRankSchema,
      reason: z.string().nullable().describe('Why there is no rank this way.'),
    }),
  ),
  games: z.array(
    z.object({
      gameId: z.uuid(),
      week: z.int(),
      observerIds: z.array(z.uuid()),
      grade: points.nullable(),
      pointsLost: points.describe('Of the season grade; all games add up to 100 − raw.'),
      uncertainty: share.nullable().describe("Part of the adjusted grade's error variance, 0 to 1."),
      without: z
        .object({
          grade: points,
          standardError: points,
          place: z.int().nullable(),
          unrankedReason: z.string().nullable(),
        })
        .nullable()
        .describe("Without this official's reports of the game, at the season's variances."),
    }),
  ),
  duties: z.array(
    z.object({
      key: z.string(),
      title: z.string(),
      opportunities: z.int(),
      misses: z.int(),
      pointsLost: points,
      chance: share.describe('Part of what chance alone makes of the grade as marked.'),
    }),
  ),
  uncertainty: z
    .object({
      official: share,
      observers: share,
      seasonBefore: share.describe('Of the season before, where grades borrow strength from it.'),
      others: share,
    })
    .nullable()
    .describe('The parts that are not of single games; with those they add up to 1.'),
});

/** What would change an official's rank, under /api. */
export async function whyRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  api.get(
    '/api/seasons/:seasonId/officials/:personId/why',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['standings'],
        summary:
          "What would change an official's rank: other models, observers, games; released reports only",
        params: z.object({ seasonId: z.uuid(), personId: z.uuid() }),
        response: { 200: z.array(whySchema) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { seasonId, personId } = request.params;
      const season = await seasonOf(database, conferenceId, seasonId);
      if (!(await readPeople(database, conferenceId)).has(personId)) throw notFound('official');
      const results = await app.results.waysOf(conferenceId, season.id);
      const whys = await whyRanks(database.pool, results, { conferenceId, seasonId, personId });
      return whys.map(({ line, strictest, ways, ...why }) => ({
        ...why,
        raw: line.raw,
        adjusted: line.adjusted?.grade ?? null,
        place: line.rank?.place ?? null,
        unrankedReason: line.unrankedReason,
        strictestObserverId: strictest,
        ways: ways.map(({ way, stands, line: found, reason }) => ({
          way,
          stands,
          adjusted: found?.adjusted?.grade ?? null,
          rank: found?.rank ? { ...found.rank, ranked: found.ranked, placeChance: found.placeChance } : null,
          reason: found?.rank ? null : reason,
        })),
      }));
    },
  );
}
