import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { seasonOf } from '../schedule/seasons.ts';
import { typedText } from '../text/typed-text.ts';
import { numberOf, wholeNumber } from '../web/whole-number.ts';
import { readCandidates } from './candidates.ts';
import type { Chooser } from './chooser.ts';
import { audiences, frameSchema } from './program.ts';
import {
  candidateAnswer,
  dayOrNone,
  programAddress,
  programAnswer,
  programNow,
  seasonAddress,
  tags,
} from './program-answer.ts';
import { propose } from './propose.ts';
import { changeFrame, createProgram, listPrograms, removeProgram, undoLast } from './stores/program-store.ts';

/** Training programs as JSON; for the coordinator. */
export function programRoutes(chooser: Chooser) {
  return async (app: FastifyInstance): Promise<void> => {
    const routes = app.withTypeProvider<ZodTypeProvider>();
    const { database } = app;
    const { pool } = database;
    const config = { policy: policies.coordinator };
    const answer = (conferenceId: string, programId: string) => programNow(database, conferenceId, programId);

    routes.get(
      '/api/seasons/:seasonId/training-programs',
      {
        config,
        schema: {
          tags,
          summary: "A season's training programs",
          params: seasonAddress,
          response: {
            200: z.array(
              z.object({
                id: z.uuid(),
                title: z.string(),
                goal: z.string(),
                audience: z.enum(audiences),
                minutes: z.int(),
                dueOn: dayOrNone,
                plays: z.int(),
                edition: z.int().describe('0 before the first release'),
                changedSince: z.boolean().describe('since the newest edition'),
                changedAt: z.string(),
              }),
            ),
          },
        },
      },
      async (request) => {
        const { conferenceId } = sessionOf(request);
        const season = await seasonOf(database, conferenceId, request.params.seasonId);
        return listPrograms(pool, conferenceId, season.id);
      },
    );

    routes.post(
      '/api/seasons/:seasonId/training-programs',
      {
        config,
        schema: {
          tags,
          summary: 'Open a training program',
          params: seasonAddress,
          body: frameSchema,
          response: { 201: programAnswer },
        },
      },
      async (request, reply) => {
        const session = sessionOf(request);
        const season = await seasonOf(database, session.conferenceId, request.params.seasonId);
        const id = await createProgram(pool, session, season.id, request.body);
        return reply.code(201).send(await answer(session.conferenceId, id));
      },
    );

    routes.get(
      '/api/seasons/:seasonId/training-candidates',
      {
        config,
        schema: {
          tags,
          summary: 'Plays of a season that are worth showing, and why, those with most said for them first',
          params: seasonAddress,
          response: { 200: z.array(candidateAnswer) },
        },
      },
      async (request) => {
        const { conferenceId } = sessionOf(request);
        const season = await seasonOf(database, conferenceId, request.params.seasonId);
        const found = await readCandidates(database, app.results, conferenceId, season.id);
        return found.map(({ facts, officialId, position, dutyKey, showing, observers, reasons, points }) => ({
          ...facts,
          officialId,
          position,
          dutyKey,
          showing,
          observers,
          reasons: [...reasons],
          points,
        }));
      },
    );

    routes.get(
      '/api/training-programs/:programId',
      {
        config,
        schema: {
          tags,
          summary: 'A training program with its plays, and how fair it is',
          params: programAddress,
          response: { 200: programAnswer },
        },
      },
      async (request) => answer(sessionOf(request).conferenceId, request.params.programId),
    );

    routes.put(
      '/api/training-programs/:programId',
      {
        config,
        schema: {
          tags,
          summary: 'Change what a program is for',
          params: programAddress,
          body: z.object({ frame: frameSchema, frameVersion: numberOf('frameVersion') }),
          response: { 200: programAnswer },
        },
      },
      async (request) => {
        const session = sessionOf(request);
        const { programId } = request.params;
        await changeFrame(pool, session, programId, request.body.frame, request.body.frameVersion);
        return answer(session.conferenceId, programId);
      },
    );

    routes.delete(
      '/api/training-programs/:programId',
      {
        config,
        schema: {
          tags,
          summary: 'Remove a program that was not released',
          params: programAddress,
          response: { 204: z.null() },
        },
      },
      async (request, reply) => {
        await removeProgram(pool, sessionOf(request), request.params.programId);
        return reply.code(204).send(null);
      },
    );

    routes.post(
      '/api/training-programs/:programId/undo',
      {
        config,
        schema: {
          tags,
          summary: 'Take back the last change',
          params: programAddress,
          body: z.object({ version: numberOf('version') }),
          response: { 200: programAnswer },
        },
      },
      async (request) => {
        const session = sessionOf(request);
        await undoLast(pool, session, request.params.programId, request.body.version);
        return answer(session.conferenceId, request.params.programId);
      },
    );

    routes.post(
      '/api/training-programs/:programId/proposal',
      {
        config,
        schema: {
          tags,
          summary: 'Fill a program with the best choice of plays beside those in it; can be taken back',
          params: programAddress,
          body: z.object({
            clips: wholeNumber('clips', 1, 120).nullable().default(null),
            topics: wholeNumber('topics', 1, 30).nullable().default(null),
            dutyKeys: z
              .array(typedText({ most: 100 }))
              .max(50)
              .default([]),
          }),
          response: {
            200: programAnswer.extend({
              proposal: z.object({
                added: z.int(),
                proven: z.boolean().describe('no better choice is possible'),
                short: z.int().describe('at most so many points from the best'),
                seconds: z.number(),
              }),
            }),
          },
        },
      },
      async (request) => {
        const session = sessionOf(request);
        const { programId } = request.params;
        const proposal = await propose(database, app.results, chooser, session, programId, request.body);
        return { ...(await answer(session.conferenceId, programId)), proposal };
      },
    );
  };
}
