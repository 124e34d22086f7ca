import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { consequences } from '../../duties/consequence.ts';
import { positions } from '../../football/positions.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { explainGrades } from './explained-grade.ts';
import { adjustedSchema, ofSeason, points } from './standings-schemas.ts';

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

/** An official's grades, explained, under /api. */
export async function gradeRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const tags = ['standings'];

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
