import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { cutSchema } from '../timeline/cut-schema.ts';
import { moment } from '../web/format.ts';
import { conflict } from '../web/problem.ts';
import { wholeNumber } from '../web/whole-number.ts';
import { checkCut } from './check-cut.ts';
import { cutAnswer, cutNow, gameOfPlay } from './cut-answer.ts';
import { playAddress, tags } from './program-answer.ts';
import { CutChanged, keepCut } from './stores/keep-cut.ts';

const version = wholeNumber('version', 0, 2_147_483_646).describe(
  'of the cut as you read it; 0 while nobody had cut it',
);

/** How a program's plays are cut from films, as JSON; for the coordinator. */
export async function cutRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const path = '/api/training-programs/:programId/plays/:playId/cut';

  routes.get(
    path,
    {
      config,
      schema: {
        tags,
        summary: 'How a play is cut, and the films it can be cut from',
        params: playAddress,
        response: { 200: cutAnswer },
      },
    },
    async (request) => {
      const { programId, playId } = request.params;
      return cutNow(app, sessionOf(request).conferenceId, programId, playId);
    },
  );

  routes.put(
    path,
    {
      config,
      schema: {
        tags,
        summary: 'Keep how a play is cut',
        description:
          'Each shot begins and ends with a frame of a film of the play’s game (`/api/games/{gameId}/films/{filmId}/frames`). Refused with 409 when somebody else cut it since `version`.',
        params: playAddress,
        body: z.object({ cut: cutSchema, version }),
        response: { 200: cutAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { programId, playId } = request.params;
      const { cut } = request.body;
      await checkCut(app, session.conferenceId, await gameOfPlay(pool, session.conferenceId, playId), cut);
      try {
        await keepCut(pool, session, programId, playId, cut, request.body.version);
      } catch (error) {
        throw error instanceof CutChanged ? somebodyElse(error, session.timeZone) : error;
      }
      return cutNow(app, session.conferenceId, programId, playId);
    },
  );

  routes.delete(
    path,
    {
      config,
      schema: {
        tags,
        summary: 'Go back to the default cut of a play',
        params: playAddress,
        querystring: z.object({ version }),
        response: { 200: cutAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { programId, playId } = request.params;
      try {
        await keepCut(pool, session, programId, playId, null, request.query.version);
      } catch (error) {
        throw error instanceof CutChanged ? somebodyElse(error, session.timeZone) : error;
      }
      return cutNow(app, session.conferenceId, programId, playId);
    },
  );
}

const somebodyElse = ({ now }: CutChanged, zone: string) =>
  conflict(
    now
      ? `${now.changedBy ?? 'Somebody'} cut this play otherwise on ${moment(now.changedAt, zone)}. Your cut was not kept, and theirs is not lost: read the cut again, and send yours with its version now to put it in place of theirs.`
      : 'Somebody took the cut of this play back to the default. Yours was not kept: read the cut again, and send yours with its version now to keep it all the same.',
  );
