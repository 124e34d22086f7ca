import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { inTransaction } from '../database/transaction.ts';
import {
  done,
  inquiryAddress,
  newFilmSchema,
  plainPlaySchema,
  sentSchema,
  tags,
  teamsInquirySchema,
} from './inquiry-schemas.ts';
import { asProblem } from './refusals.ts';
import { inquiriesOfTeam, plainPlaysOf, readInquiry } from './stores/inquiry-store.ts';
import { gamesOfTeam, teamOf } from './stores/team-store.ts';
import {
  changeDraft,
  closeInquiry,
  makeDraft,
  removeDraft,
  reopenInquiry,
  sendInquiry,
} from './stores/write-store.ts';

/** What a team's contact does: the games of the team, what is asked about them, drafts, sending, reopening. */
export async function teamRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const asContact = { policy: policies['team contact'] };
  const ofOwn = { policy: policies.ownTeamsInquiry };

  routes.get(
    '/api/my/inquiries/games',
    {
      config: asContact,
      schema: {
        tags,
        summary: 'Games of my team, the newest first',
        response: {
          200: z.array(
            z.object({
              gameId: z.uuid(),
              season: z.string(),
              closed: z.boolean().describe('Of a closed season: nothing is asked about it any more.'),
              week: z.int(),
              kickoff: z.date(),
              home: z.string(),
              visitor: z.string(),
            }),
          ),
        },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const team = await teamOf(pool, conferenceId, personId);
      return team ? gamesOfTeam(pool, conferenceId, team.id) : [];
    },
  );

  routes.get(
    '/api/my/inquiries/games/:gameId/plays',
    {
      config: { policy: policies.gameOfOwnTeam },
      schema: {
        tags,
        summary: 'Plays of a game of my team, to choose the one that is asked about',
        params: z.object({ gameId: z.uuid() }),
        response: { 200: z.array(plainPlaySchema) },
      },
    },
    (request) => plainPlaysOf(pool, sessionOf(request).conferenceId, request.params.gameId),
  );

  routes.get(
    '/api/my/inquiries',
    {
      config: asContact,
      schema: {
        tags,
        summary: 'Inquiries of my team, drafts first, then the newest',
        response: { 200: z.array(teamsInquirySchema) },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const team = await teamOf(pool, conferenceId, personId);
      return team ? (await inquiriesOfTeam(pool, conferenceId, team.id)).map(forTeam) : [];
    },
  );

  routes.post(
    '/api/my/inquiries',
    {
      config: asContact,
      schema: {
        tags,
        summary: 'Ask about a play of a game of my team, or keep a draft',
        description:
          'Refused where the play is not in the log, naming the nearest; after the window; above the limit of a week; in a closed season. Asked again word for word it stays one inquiry. What is refused on sending is kept nowhere: send it again, or as a draft.',
        body: sentSchema,
        response: { 201: teamsInquirySchema },
      },
    },
    async (request, reply) => {
      const acting = sessionOf(request);
      const { send, clock: clockSeconds, ...written } = request.body;
      const made = await asProblem(() =>
        inTransaction(pool, async (client) => {
          const id = await makeDraft(client, acting, { ...written, clockSeconds });
          return send
            ? sendInquiry(client, acting, id, written)
            : readInquiry(client, acting.conferenceId, id);
        }),
      );
      app.outbox.wake();
      return reply.code(201).send(forTeam(made));
    },
  );

  routes.get(
    '/api/my/inquiries/:inquiryId',
    {
      config: ofOwn,
      schema: {
        tags,
        summary: 'An inquiry of my team',
        params: inquiryAddress,
        response: { 200: teamsInquirySchema },
      },
    },
    async (request) =>
      forTeam(await readInquiry(pool, sessionOf(request).conferenceId, request.params.inquiryId)),
  );

  routes.put(
    '/api/my/inquiries/:inquiryId',
    {
      config: ofOwn,
      schema: {
        tags,
        summary: 'Change a draft, or send it',
        params: inquiryAddress,
        body: sentSchema,
        response: { 200: teamsInquirySchema },
      },
    },
    async (request) => {
      const acting = sessionOf(request);
      const { inquiryId } = request.params;
      const { send, clock: clockSeconds, ...written } = request.body;
      const kept = await asProblem(() =>
        inTransaction(pool, async (client) => {
          await changeDraft(client, acting, inquiryId, { ...written, clockSeconds });
          return send
            ? sendInquiry(client, acting, inquiryId, written)
            : readInquiry(client, acting.conferenceId, inquiryId);
        }),
      );
      app.outbox.wake();
      return forTeam(kept);
    },
  );

  routes.delete(
    '/api/my/inquiries/:inquiryId',
    {
      config: ofOwn,
      schema: { tags, summary: 'Throw a draft away', params: inquiryAddress, response: { 204: z.null() } },
    },
    async (request, reply) => {
      await asProblem(() =>
        inTransaction(pool, (client) => removeDraft(client, sessionOf(request), request.params.inquiryId)),
      );
      return reply.code(204).send(null);
    },
  );

  routes.post(
    '/api/my/inquiries/:inquiryId/reopening',
    {
      config: ofOwn,
      schema: {
        tags,
        summary: 'Reopen an answered inquiry, once, for new film',
        params: inquiryAddress,
        body: z.strictObject({ newFilm: newFilmSchema.describe('Where it is: a link, or times in it.') }),
        response: { 200: done },
      },
    },
    async (request) => {
      await asProblem(() =>
        inTransaction(pool, (client) =>
          reopenInquiry(client, sessionOf(request), request.params.inquiryId, request.body.newFilm),
        ),
      );
      app.outbox.wake();
      return { done: true as const };
    },
  );

  routes.post(
    '/api/my/inquiries/:inquiryId/closing',
    {
      config: ofOwn,
      schema: {
        tags,
        summary: 'Close an answered inquiry',
        params: inquiryAddress,
        response: { 200: done },
      },
    },
    async (request) => {
      await asProblem(() =>
        inTransaction(pool, (client) => closeInquiry(client, sessionOf(request), request.params.inquiryId)),
      );
      return { done: true as const };
    },
  );
}

/** As the schema has it; what is for coordinators alone is not in it. */
const forTeam = (inquiry: Awaited<ReturnType<typeof readInquiry>>) => ({
  ...inquiry,
  answers: [...inquiry.answers],
});
