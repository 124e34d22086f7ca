import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { ofSelection, tags } from '../postseason-schemas.ts';
import { ballotsAreOpen } from '../selection.ts';
import { readSelection } from '../stores/selection-rows.ts';
import { committeeAnswer, memberSchema, openingSchema, votingSchema } from './committee-schemas.ts';
import { addMember, readConflicts, readMembers, removeMember } from './stores/member-store.ts';
import { endPreparing, openBallots, readOpenedBecause } from './stores/step-store.ts';

/** Who sits on a selection's committee, and its two steps, under /api. */
export async function committeeRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };

  const answer = async (conferenceId: string, id: string): Promise<z.output<typeof committeeAnswer>> => {
    const { state } = await readSelection(pool, conferenceId, id);
    return {
      state,
      openedBecause: await readOpenedBecause(pool, conferenceId, id),
      members: (await readMembers(pool, conferenceId, id)).map((one) => ({
        ...one,
        conflictsDeclaredAt: one.conflictsDeclaredAt?.toISOString() ?? null,
        sealedAt: one.sealedAt?.toISOString() ?? null,
      })),
      // Who is in conflict with whom is part of what is sealed.
      conflicts: ballotsAreOpen({ state }) ? await readConflicts(pool, conferenceId, id) : null,
    };
  };

  api.get(
    '/api/selections/:selectionId/committee',
    {
      config,
      schema: {
        tags,
        summary: 'Who sits on a selection’s committee, and how far each is',
        params: ofSelection,
        response: { 200: committeeAnswer },
      },
    },
    async (request) => answer(sessionOf(request).conferenceId, request.params.selectionId),
  );

  api.post(
    '/api/selections/:selectionId/committee/members',
    {
      config,
      schema: {
        tags,
        summary: 'Add a coordinator, or an observer as an invited reader',
        description: 'Officials cannot sit on it. Once voting has begun the new member is told.',
        params: ofSelection,
        body: memberSchema,
        response: { 200: committeeAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      await addMember(pool, session, request.params.selectionId, request.body.personId);
      return answer(session.conferenceId, request.params.selectionId);
    },
  );

  api.delete(
    '/api/selections/:selectionId/committee/members/:personId',
    {
      config,
      schema: {
        tags,
        summary: 'Take a member off who has not sealed',
        description:
          'What they wrote and did not seal is deleted with them: where there is any, it is refused without `sure=yes`.',
        params: ofSelection.extend({ personId: z.uuid() }),
        querystring: z.object({
          sure: z.enum(['yes', 'no'], 'must be yes or no').default('no').describe('What they wrote may go.'),
        }),
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      const { selectionId, personId } = request.params;
      await removeMember(pool, sessionOf(request), selectionId, personId, request.query.sure === 'yes');
      return reply.code(204).send(null);
    },
  );

  api.post(
    '/api/selections/:selectionId/committee/voting',
    {
      config,
      schema: {
        tags,
        summary: 'End preparing: begin sealed voting, or decide without a committee',
        description: 'Games, rules and the candidates’ figures stay from then on as they are.',
        params: ofSelection,
        body: votingSchema,
        response: { 200: committeeAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { withCommittee, reason } = request.body;
      await endPreparing(
        pool,
        app.results,
        session,
        request.params.selectionId,
        withCommittee ? { withCommittee } : { withCommittee, reason },
      );
      return answer(session.conferenceId, request.params.selectionId);
    },
  );

  api.post(
    '/api/selections/:selectionId/committee/opening',
    {
      config,
      schema: {
        tags,
        summary: 'Open all ballots together',
        description: 'What is not sealed is not counted and never shown.',
        params: ofSelection,
        body: openingSchema,
        response: { 200: committeeAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      await openBallots(pool, session, request.params.selectionId, request.body.reason);
      return answer(session.conferenceId, request.params.selectionId);
    },
  );
}
