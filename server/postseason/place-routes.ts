import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { ofGame, ofSelection, selectionAnswer, tags } from './postseason-schemas.ts';
import { choiceSchema, gameSchema, slotSchema } from './selection.ts';
import { choose, unchoose } from './stores/choice-store.ts';
import { addGame, changeGame, removeGame } from './stores/game-store.ts';
import { readSelection } from './stores/selection-rows.ts';

/** The games of a selection, and who is chosen for their places, under /api. */
export async function placeRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };
  const answer = async (conferenceId: string, id: string) =>
    (await readSelection(pool, conferenceId, id)) as unknown as z.output<typeof selectionAnswer>;

  api.post(
    '/api/selections/:selectionId/games',
    {
      config,
      schema: {
        tags,
        summary: 'Add a game to fill',
        params: ofSelection,
        body: gameSchema,
        response: { 201: selectionAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      await addGame(pool, session, request.params.selectionId, request.body);
      return reply.code(201).send(await answer(session.conferenceId, request.params.selectionId));
    },
  );

  api.put(
    '/api/selections/:selectionId/games/:selectionGameId',
    {
      config,
      schema: {
        tags,
        summary: 'Change a game to fill',
        params: ofGame,
        body: gameSchema,
        response: { 200: selectionAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { selectionId, selectionGameId } = request.params;
      await changeGame(pool, session, selectionId, selectionGameId, request.body);
      return answer(session.conferenceId, selectionId);
    },
  );

  api.delete(
    '/api/selections/:selectionId/games/:selectionGameId',
    {
      config,
      schema: {
        tags,
        summary: 'Take a game out, and what was chosen for it',
        params: ofGame,
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const { selectionId, selectionGameId } = request.params;
      await removeGame(pool, sessionOf(request), selectionId, selectionGameId);
      return reply.code(204).send(null);
    },
  );

  const ofPlace = ofGame.extend({ slot: slotSchema });
  api.put(
    '/api/selections/:selectionId/games/:selectionGameId/places/:slot',
    {
      config,
      schema: {
        tags,
        summary: 'Choose an official for a place, in place of whoever was chosen',
        params: ofPlace,
        body: choiceSchema,
        response: { 200: selectionAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { selectionId, selectionGameId: gameId, slot } = request.params;
      await choose(pool, session, selectionId, { gameId, slot }, request.body);
      return answer(session.conferenceId, selectionId);
    },
  );

  api.delete(
    '/api/selections/:selectionId/games/:selectionGameId/places/:slot',
    {
      config,
      schema: {
        tags,
        summary: 'Free a place again',
        params: ofPlace,
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const { selectionId, selectionGameId: gameId, slot } = request.params;
      await unchoose(pool, sessionOf(request), selectionId, { gameId, slot });
      return reply.code(204).send(null);
    },
  );
}
