import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { positions } from '../football/positions.ts';
import { readDuties } from '../results/patterns/pattern-counts.ts';
import { typedText } from '../text/typed-text.ts';
import { showings } from '../training/lesson.ts';
import { conflict } from '../web/problem.ts';
import { numberOf, wholeNumber } from '../web/whole-number.ts';
import { firstCard } from './first-card.ts';
import { cardSchema } from './program.ts';
import { playAddress, programAddress, programAnswer, programNow, tags } from './program-answer.ts';
import { addPlays, CardChanged, keepCard, movePlay, orderByTopic, removePlay } from './stores/play-store.ts';
import { readProgram } from './stores/program-rows.ts';

/** The plays of a training program as JSON: put in, taken out, moved, and their cards; for the coordinator. */
export async function programPlayRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };
  const answer = (conferenceId: string, programId: string) => programNow(database, conferenceId, programId);

  routes.post(
    '/api/training-programs/:programId/order',
    {
      config,
      schema: {
        tags,
        summary: 'Bring the plays into teaching order, topic by topic',
        params: programAddress,
        body: z.object({ orderVersion: numberOf('orderVersion') }),
        response: { 200: programAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      await orderByTopic(pool, session, request.params.programId, request.body.orderVersion);
      return answer(session.conferenceId, request.params.programId);
    },
  );

  routes.post(
    '/api/training-programs/:programId/plays',
    {
      config,
      schema: {
        tags,
        summary: 'Put a play in, at the end',
        params: programAddress,
        body: z.object({
          playId: z.uuid(),
          dutyKey: typedText({ most: 100 }).nullable().default(null),
          position: z.enum(positions),
          showing: z.enum(showings),
        }),
        response: { 201: programAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const { programId } = request.params;
      const { seasonId } = await readProgram(pool, session.conferenceId, programId);
      const duties = await readDuties(pool, session.conferenceId, seasonId);
      const { playId, dutyKey, ...lesson } = request.body;
      const duty = dutyKey === null ? undefined : duties.get(dutyKey);
      const card = firstCard({ ...lesson, dutyKey: duty?.key ?? null }, duty);
      await addPlays(pool, session, programId, [{ playId, card }]);
      return reply.code(201).send(await answer(session.conferenceId, programId));
    },
  );

  routes.delete(
    '/api/training-programs/:programId/plays/:playId',
    {
      config,
      schema: { tags, summary: 'Take a play out', params: playAddress, response: { 200: programAnswer } },
    },
    async (request) => {
      const session = sessionOf(request);
      await removePlay(pool, session, request.params.programId, request.params.playId);
      return answer(session.conferenceId, request.params.programId);
    },
  );

  routes.post(
    '/api/training-programs/:programId/plays/:playId/place',
    {
      config,
      schema: {
        tags,
        summary: 'Move a play to a place',
        params: playAddress,
        body: z.object({
          place: wholeNumber('place', 1, 1000).describe('1 is the first'),
          orderVersion: numberOf('orderVersion'),
        }),
        response: { 200: programAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { programId, playId } = request.params;
      await movePlay(pool, session, programId, playId, request.body.place, request.body.orderVersion);
      return answer(session.conferenceId, programId);
    },
  );

  routes.put(
    '/api/training-programs/:programId/plays/:playId',
    {
      config,
      schema: {
        tags,
        summary: "Keep a play's card: what it is to teach",
        params: playAddress,
        body: z.object({
          card: cardSchema,
          version: numberOf('version').describe('of the play'),
          goesOn: z
            .boolean()
            .default(false)
            .describe('saved while it is written: taken back together with your change of it just before'),
        }),
        response: { 200: programAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { programId, playId } = request.params;
      try {
        const { card, version, goesOn } = request.body;
        await keepCard(pool, session, programId, playId, card, version, { goesOn });
      } catch (error) {
        if (!(error instanceof CardChanged)) throw error;
        throw conflict(
          'Somebody else changed this card since you read it. Yours was not kept, and theirs is not lost: read the program again, and send the card with its version now.',
        );
      }
      return answer(session.conferenceId, programId);
    },
  );
}
