import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { positions } from '../football/positions.ts';
import { notFound } from '../web/problem.ts';
import { readCrews, readGames, readSeasons, readTeams, readWorkingCrew } from './schedule-store.ts';
import { seasonOf } from './seasons.ts';

const instant = z.iso.datetime().describe('UTC');
const named = z.object({ id: z.uuid(), name: z.string() });
const venue = named.extend({
  place: z.string(),
  latitude: z.number(),
  longitude: z.number(),
  timeZone: z.string().describe('IANA name'),
});
const season = named.extend({
  crewSize: z.number().int(),
  minimumGames: z.number().int().describe('Games an official needs to be ranked'),
  minimumOpportunities: z.number().int().describe('Opportunities an official needs to be ranked'),
  postseasonPlaces: z.number().int().describe('Officials of each position that the postseason takes'),
});
const game = z.object({
  id: z.uuid(),
  key: z.string(),
  week: z.number().int(),
  kickoff: instant,
  home: named,
  visitor: named,
  venue: venue,
  crew: named.nullable(),
  finalScore: z
    .object({ home: z.number().int(), visitor: z.number().int() })
    .nullable()
    .describe('Null while nobody has entered it.'),
  plays: z.number().int().describe('Plays in the log'),
});
const person = z.object({ id: z.uuid(), givenName: z.string(), familyName: z.string() });
const member = z.object({ position: z.enum(positions), official: person });
const seasonParams = z.object({ seasonId: z.uuid() });

/** Reading of seasons, games, teams and crews. They are written by import (see `import-routes.ts`). */
export async function scheduleRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const tags = ['schedule'];

  routes.get(
    '/api/seasons',
    {
      config: { policy: policies.staff },
      schema: { tags, summary: 'Seasons, newest first', response: { 200: z.array(season) } },
    },
    (request) => readSeasons(app.database, sessionOf(request).conferenceId),
  );

  routes.get(
    '/api/seasons/:seasonId/games',
    {
      config: { policy: policies.staff },
      schema: {
        tags,
        summary: 'Games of a season in the order of kickoff',
        params: seasonParams,
        querystring: z.object({ week: z.coerce.number().int().min(0).max(30).optional() }),
        response: { 200: z.array(game) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { id } = await seasonOf(app.database, conferenceId, request.params.seasonId);
      return readGames(pool, conferenceId, { seasonId: id, week: request.query.week });
    },
  );

  routes.get(
    '/api/games/:gameId',
    {
      config: { policy: policies.assignedGame },
      schema: {
        tags,
        summary: 'One game with the crew that worked it',
        params: z.object({ gameId: z.uuid() }),
        response: { 200: game.extend({ workingCrew: z.array(member) }) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { gameId } = request.params;
      const [found] = await readGames(pool, conferenceId, { gameId });
      if (!found) throw notFound('game');
      return { ...found, workingCrew: await readWorkingCrew(pool, conferenceId, gameId) };
    },
  );

  routes.get(
    '/api/teams',
    {
      config: { policy: policies.staff },
      schema: {
        tags,
        summary: 'Teams with their home venues',
        response: { 200: z.array(named.extend({ venue: venue.nullable() })) },
      },
    },
    (request) => readTeams(app.database, sessionOf(request).conferenceId),
  );

  routes.get(
    '/api/seasons/:seasonId/crews',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Crews of a season with their officials by position',
        params: seasonParams,
        response: { 200: z.array(named.extend({ officials: z.array(member) })) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { id } = await seasonOf(app.database, conferenceId, request.params.seasonId);
      return readCrews(pool, conferenceId, id);
    },
  );
}
