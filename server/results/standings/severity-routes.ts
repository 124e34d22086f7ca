import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { keennessWords, strictnessWords } from '../detection/detection-words.ts';
import { observerSeverityWords } from './severity-words.ts';
import { ofSeason, points } from './standings-schemas.ts';

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

/** How strict observers are, under /api. */
export async function severityRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const tags = ['standings'];

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
}
