import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { positions } from '../football/positions.ts';
import { observersOverSeasons } from './observers-over-seasons.ts';
import { officialOverSeasons, staffDutiesOverSeasons } from './official-over-seasons.ts';

const tags = ['over the seasons'];
const season = z.object({
  id: z.uuid(),
  name: z.string(),
  isOpen: z.boolean().describe('Not closed: its figures are those so far.'),
});
const bounds = z.object({ low: z.number(), high: z.number() });

/** Officials, duties and observers from season to season, as JSON. */
export async function historyRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const coordinator = { policy: policies.coordinator };

  routes.get(
    '/api/people/:personId/seasons',
    {
      config: { policy: policies.ownEvaluation },
      schema: {
        tags,
        summary: "An official's grades and duties, season by season",
        description:
          'Each season is graded against its own staff, rubric and observers: where two intervals overlap, nothing tells the seasons apart. Released reports only. Ranks are for the coordinator.',
        params: z.object({ personId: z.uuid() }),
        response: {
          200: z.array(
            z.object({
              position: z.enum(positions),
              seasons: z.array(
                z.object({
                  season,
                  raw: z.number().nullable().describe('Grade as marked.'),
                  adjusted: bounds
                    .extend({ grade: z.number(), standardError: z.number() })
                    .nullable()
                    .describe('With its 90% interval.'),
                  games: z.int(),
                  opportunities: z.int(),
                  misses: z.int(),
                  rank: z.object({ place: z.int(), low: z.int(), high: z.int() }).nullable(),
                }),
              ),
              duties: z.array(
                z.object({
                  key: z.string(),
                  title: z.string(),
                  seasons: z.array(
                    z.object({
                      seasonId: z.uuid(),
                      opportunities: z.int(),
                      misses: z.int(),
                      interval: bounds.describe('95%, of chance alone.'),
                      othersMissRate: z.number().nullable(),
                    }),
                  ),
                }),
              ),
            }),
          ),
        },
      },
    },
    async (request) => {
      const { conferenceId, roles } = sessionOf(request);
      const { positions: worked } = await app.reading(request, (from) =>
        officialOverSeasons(from, conferenceId, request.params.personId),
      );
      return worked.map(({ position, seasons, duties }) => ({
        position,
        seasons: seasons.map(({ season: of, line }) => ({
          ...line,
          season: of,
          rank: roles.has('coordinator') ? line.rank : null,
        })),
        duties: duties.map((duty) => ({ ...duty, seasons: [...duty.seasons] })),
      }));
    },
  );

  routes.get(
    '/api/duties-over-seasons',
    {
      config: coordinator,
      schema: {
        tags,
        summary: "A position's duties over the whole staff, season by season",
        querystring: z.object({ position: z.enum(positions) }),
        response: {
          200: z.object({
            seasons: z.array(season),
            duties: z.array(
              z.object({
                key: z.string(),
                title: z.string(),
                seasons: z
                  .array(z.object({ opportunities: z.int(), misses: z.int(), officials: z.int() }).nullable())
                  .describe('In the order of `seasons`; null where the duty was not watched.'),
              }),
            ),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { seasons, duties } = await app.reading(request, ({ pool }) =>
        staffDutiesOverSeasons(pool, conferenceId, request.query.position),
      );
      return { seasons, duties: duties.map((duty) => ({ ...duty, seasons: [...duty.seasons] })) };
    },
  );

  routes.get(
    '/api/observers-over-seasons',
    {
      config: coordinator,
      schema: {
        tags,
        summary: "Observers' severity, season by season",
        description:
          'Points of a grade, below 0 strict, with 90% intervals; held beside the others of that season.',
        response: {
          200: z.object({
            seasons: z.array(season),
            observers: z.array(
              z.object({
                observerId: z.uuid(),
                seasons: z.array(bounds.extend({ effect: z.number().nullable(), games: z.int() }).nullable()),
              }),
            ),
          }),
        },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { seasons, observers } = await app.reading(request, (from) =>
        observersOverSeasons(from, conferenceId),
      );
      return { seasons, observers: observers.map((row) => ({ ...row, seasons: [...row.seasons] })) };
    },
  );
}
