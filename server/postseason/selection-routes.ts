import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { positions } from '../football/positions.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { tierRule } from '../selection/tiers.ts';
import { candidateLines } from './candidate-view.ts';
import {
  candidatesAnswer,
  listAnswer,
  ofSeason,
  ofSelection,
  proposalAnswer,
  selectionAnswer,
  tags,
} from './postseason-schemas.ts';
import type { Proposer } from './proposer.ts';
import { proposeFor } from './proposing.ts';
import { changeSchema, frameSchema } from './selection.ts';
import { gameOf } from './stores/game-store.ts';
import { readMaterial } from './stores/material-store.ts';
import { listSelections, readSelection } from './stores/selection-rows.ts';
import { changeSelection, createSelection, removeSelection } from './stores/selection-store.ts';

/** Selections, their candidates and proposals, under /api. */
export function selectionRoutes(proposer: Proposer) {
  return async (app: FastifyInstance): Promise<void> => {
    const api = app.withTypeProvider<ZodTypeProvider>();
    const { database } = app;
    const { pool } = database;
    const coordinator = { policy: policies.coordinator };
    const config = { policy: policies.selectionOfConference };
    const answer = async (conferenceId: string, id: string) =>
      (await readSelection(pool, conferenceId, id)) as unknown as z.output<typeof selectionAnswer>;

    api.get(
      '/api/seasons/:seasonId/selections',
      {
        config: coordinator,
        schema: {
          tags,
          summary: 'A season’s selections for games after it, the newest first',
          params: ofSeason,
          response: { 200: listAnswer },
        },
      },
      async (request) => {
        const { conferenceId } = sessionOf(request);
        const season = await seasonOf(database, conferenceId, request.params.seasonId);
        return listSelections(pool, conferenceId, season.id);
      },
    );

    api.post(
      '/api/seasons/:seasonId/selections',
      {
        config: coordinator,
        schema: {
          tags,
          summary: 'Make a selection',
          description: 'It begins with the rules and weights that stand ready; both can be changed.',
          params: ofSeason,
          body: frameSchema,
          response: { 201: selectionAnswer },
        },
      },
      async (request, reply) => {
        const session = sessionOf(request);
        const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
        const id = await createSelection(pool, session, season.id, request.body);
        return reply.code(201).send(await answer(session.conferenceId, id));
      },
    );

    api.get(
      '/api/selections/:selectionId',
      {
        config,
        schema: {
          tags,
          summary: 'A selection with its rules, weights, games and choices',
          params: ofSelection,
          response: { 200: selectionAnswer },
        },
      },
      async (request) => answer(sessionOf(request).conferenceId, request.params.selectionId),
    );

    api.put(
      '/api/selections/:selectionId',
      {
        config,
        schema: {
          tags,
          summary: 'Change a selection’s title, days, rules and weights, until votes are cast',
          params: ofSelection,
          body: changeSchema,
          response: { 200: selectionAnswer },
        },
      },
      async (request) => {
        const session = sessionOf(request);
        await changeSelection(pool, session, request.params.selectionId, request.body);
        return answer(session.conferenceId, request.params.selectionId);
      },
    );

    api.delete(
      '/api/selections/:selectionId',
      {
        config,
        schema: {
          tags,
          summary: 'Remove a selection, until votes are cast',
          params: ofSelection,
          response: { 204: z.null() },
        },
      },
      async (request, reply) => {
        await removeSelection(pool, sessionOf(request), request.params.selectionId);
        return reply.code(204).send(null);
      },
    );

    api.get(
      '/api/selections/:selectionId/candidates',
      {
        config,
        schema: {
          tags,
          summary: 'Who is graded in a position, in tiers, and how each stands in every rule',
          params: ofSelection,
          querystring: z.object({
            position: z.enum(positions),
            game: z.uuid().optional().describe('Held against its day and teams as well.'),
          }),
          response: { 200: candidatesAnswer },
        },
      },
      async (request) => {
        const { conferenceId } = sessionOf(request);
        const { position, game } = request.query;
        const selection = await readSelection(pool, conferenceId, request.params.selectionId);
        if (game) gameOf(selection, game);
        const material = await readMaterial(pool, app.results, conferenceId, selection);
        const { model, otherModel, top, inputRevision } = material;
        return {
          ...{ tierRule, model, otherModel, top, inputRevision },
          candidates: candidateLines(material, position, game ?? null).map((line) => ({
            ...line,
            crews: [...line.crews],
            findings: [...line.findings],
          })),
        };
      },
    );

    api.post(
      '/api/selections/:selectionId/proposal',
      {
        config,
        schema: {
          tags,
          summary: 'Propose who might fill what is not chosen yet',
          description:
            'Kept as the selection’s proposal, with its weights. It chooses nobody: people decide, and the conference’s policy comes first.',
          params: ofSelection,
          response: { 200: proposalAnswer },
        },
      },
      async (request) => {
        const proposal = await proposeFor(
          pool,
          app.results,
          proposer,
          sessionOf(request),
          request.params.selectionId,
        );
        return proposal as unknown as z.output<typeof proposalAnswer>;
      },
    );
  };
}
