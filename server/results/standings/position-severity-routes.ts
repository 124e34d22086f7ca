import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { differsByPosition, positionSeverity } from './position-severity.ts';

const points = z.number().nullable();

/** Observers' severity by position, under /api: for the coordinator only. */
export async function positionSeverityRoutes(app: FastifyInstance): Promise<void> {
  app.withTypeProvider<ZodTypeProvider>().get(
    '/api/seasons/:seasonId/severity/positions',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags: ['standings'],
        summary: "Observers' severity by position, strictest observer first",
        params: z.object({ seasonId: z.uuid() }),
        response: {
          200: z.object({
            differs: z
              .boolean()
              .nullable()
              .describe('Whether anything tells that observers are stricter in some positions.'),
            observers: z.array(
              z.object({
                observerId: z.uuid(),
                position: z.enum(positions),
                games: z.int(),
                points: points.describe('Below 0 strict, above 0 lenient; null where too little tells it.'),
                low: points.describe('Lower end of the 90% interval.'),
                high: points,
                meaning: z.string(),
              }),
            ),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(app.database, conferenceId, request.params.seasonId);
      const standings = await app.results.standingsOf(conferenceId, season.id);
      return {
        differs: differsByPosition(standings),
        observers: positionSeverity(standings).map(({ observer, position, games, told, meaning }) => ({
          observerId: observer,
          position: position as (typeof positions)[number],
          games,
          points: told?.points ?? null,
          low: told?.low ?? null,
          high: told?.high ?? null,
          meaning,
        })),
      };
    },
  );
}
