import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { sharesOf } from '../../duties/report-shares.ts';
import { watchedSchema } from '../../duties/watched-schema.ts';
import { type Position, positions } from '../../football/positions.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { notFound } from '../../web/problem.ts';
import { whatIsMissing } from '../filing/filing.ts';
import { reportWarnings } from '../filing/report-warnings.ts';
import { reportStates } from '../states.ts';
import { stepsOf } from '../step.ts';
import { reportMarks } from './mark-lines.ts';
import { officialCounts, reportLine, seasonReports } from './report-lines.ts';
import { sharesOfReport } from './report-shares.ts';
import { markSchema, moment, reportAddress, seasonAddress, tags } from './review-schemas.ts';

const lineSchema = z.object({
  id: z.string(),
  state: z.enum(reportStates),
  revision: z.int(),
  week: z.int(),
  gameId: z.string(),
  game: z.string(),
  observerId: z.string(),
  observer: z.string(),
  filedAt: moment,
  releasedAt: moment,
  marks: z.int(),
  repliesWaiting: z.int(),
});

const share = z.number().min(0).max(1).nullable();

const missingSchema = z.object({
  what: z.string(),
  message: z.string(),
  playId: z.string().optional(),
  observationId: z.string().optional(),
  position: z.enum(positions).optional(),
});

export const warningSchema = z.object({
  what: z.enum(['quarter', 'time', 'sequence', 'score', 'plays', 'chances', 'crew']),
  says: z.string(),
  fix: z.string(),
  playId: z.string().optional(),
  number: z.int().optional().describe('The play where to look first.'),
  position: z.enum(positions).optional(),
});

/** Reports to read: those of a season, one with its marks and counts, what one still lacks. */
export async function reportRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const step = stepsOf(app);

  routes.get(
    '/api/seasons/:seasonId/reports',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'All reports of a season',
        params: seasonAddress,
        response: { 200: z.array(lineSchema) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(app.database, conferenceId, request.params.seasonId);
      return seasonReports(pool, conferenceId, season.id);
    },
  );

  routes.get(
    '/api/reports/:reportId',
    {
      config: { policy: policies.ownReport },
      schema: {
        tags,
        summary: 'One report with its marks and, once filed, the counts of each official',
        params: reportAddress,
        response: {
          200: lineSchema.extend({
            observations: z.array(markSchema),
            officials: z.array(
              z.object({
                position: z.enum(positions),
                personId: z.string(),
                official: z.string(),
                opportunities: z.int(),
                notMet: z.int(),
                notCounted: z.int(),
                model: z.int(),
                watchedShare: share.describe('Of the chances that the log gives, the share watched.'),
                decidedShare: share.describe(
                  'Of the chances that there probably were, the share the log gives.',
                ),
              }),
            ),
            watched: watchedSchema.nullable().describe('Whom the observer watched; null: not said yet.'),
            leftOut: z
              .array(
                z.object({
                  dutyKey: z.string(),
                  title: z.string(),
                  position: z.enum(positions),
                  chances: z.int(),
                  misses: z.int(),
                }),
              )
              .describe('Duties of which the log gives too little to count, with what was found of them.'),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { reportId } = request.params;
      const line = await reportLine(pool, conferenceId, reportId);
      if (!line) throw notFound('report');
      const { watched, leftOut, byPosition } = await sharesOfReport(pool, conferenceId, reportId);
      const sharesAt = (position: Position) => {
        const kept = byPosition.find((row) => row.position === position);
        const shares = kept && sharesOf(kept);
        return { watchedShare: shares?.watched ?? null, decidedShare: shares?.decided ?? null };
      };
      return {
        ...line,
        observations: await reportMarks(pool, conferenceId, reportId),
        officials: (await officialCounts(pool, conferenceId, reportId)).map((official) => ({
          ...official,
          ...sharesAt(official.position),
        })),
        watched,
        leftOut,
      };
    },
  );

  routes.get(
    '/api/reports/:reportId/missing',
    {
      config: { policy: policies.ownReport },
      schema: {
        tags,
        summary: 'What keeps the report from being filed, each with its place',
        params: reportAddress,
        response: { 200: z.array(missingSchema) },
      },
    },
    (request) => step(request, (client, acting) => whatIsMissing(client, acting, request.params.reportId)),
  );

  routes.get(
    '/api/reports/:reportId/warnings',
    {
      config: { policy: policies.ownReport },
      schema: {
        tags,
        summary: 'What tells that the report is not whole; none of it keeps it from being filed',
        params: reportAddress,
        response: { 200: z.array(warningSchema) },
      },
    },
    (request) => step(request, (client, acting) => reportWarnings(client, acting, request.params.reportId)),
  );
}
