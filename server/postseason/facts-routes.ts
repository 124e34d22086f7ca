import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { factsOfOfficialSchema } from './facts.ts';
import { factsAnswer, ofSeason, tags } from './postseason-schemas.ts';
import { keepFacts, readFacts } from './stores/facts-store.ts';

/** What is known of officials beside grades, under /api. */
export async function factsRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const config = { policy: policies.coordinator };
  const answer = async (conferenceId: string, seasonId: string) =>
    [...(await readFacts(database.pool, conferenceId, seasonId)).values()].map((line) => ({
      ...line,
      ties: [...line.ties],
      facts: { ...line.facts, daysAway: [...line.facts.daysAway] },
    }));

  api.get(
    '/api/seasons/:seasonId/official-facts',
    {
      config,
      schema: {
        tags,
        summary: 'What is known of officials beside grades: years, tests, standing, availability, ties',
        params: ofSeason,
        response: { 200: factsAnswer },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonOf(database, conferenceId, request.params.seasonId);
      return answer(conferenceId, season.id);
    },
  );

  api.put(
    '/api/seasons/:seasonId/officials/:personId/facts',
    {
      config: { policy: policies.coordinatorOfPerson },
      schema: {
        tags,
        summary: 'Keep what is known of one official beside grades',
        params: ofSeason.extend({ personId: factsAnswer.element.shape.personId }),
        body: factsOfOfficialSchema,
        response: { 200: factsAnswer.element },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { seasonId, personId } = request.params;
      const season = await seasonOf(database, session.conferenceId, seasonId);
      await keepFacts(database.pool, session, season.id, new Map([[personId, request.body]]));
      return (await answer(session.conferenceId, season.id)).find((line) => line.personId === personId)!;
    },
  );
}
