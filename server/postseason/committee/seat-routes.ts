import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { ofGame, ofSelection, tags } from '../postseason-schemas.ts';
import { ballotSchema, conflictsSchema, seatAnswer, seatsAnswer } from './committee-schemas.ts';
import { declareConflicts, keepBallot, readOwnSeat, readSeats, sealBallot } from './stores/ballot-store.ts';
import { readBasis } from './stores/basis-store.ts';

/** A member's own seat on a committee, under /api: what they hold, and nothing that another wrote. */
export async function seatRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.seatOfSelection };

  const answer = async (acting: PersonActing, id: string): Promise<z.output<typeof seatAnswer>> => {
    const { selection, member, conflicts, ballots } = await readOwnSeat(pool, acting, id);
    const basis = await readBasis(pool, acting.conferenceId, id);
    const tied = new Set(conflicts.map(({ officialId }) => officialId));
    // Before conflicts are declared names alone, in their order: figures may be of somebody with whom one is.
    const declared = member.conflictsDeclaredAt !== null;
    const byName = (a: { name: string }, b: { name: string }) => a.name.localeCompare(b.name);
    return {
      ...{ selectionId: id, title: selection.title, state: selection.state },
      conflictsDeclaredAt: member.conflictsDeclaredAt?.toISOString() ?? null,
      sealedAt: member.sealedAt?.toISOString() ?? null,
      conflicts: conflicts.map(({ officialId, reason }) => ({ officialId, reason })),
      ballots: ballots.map(({ memberId: _, ...ballot }) => ballot),
      candidates: (basis?.games ?? []).flatMap(({ gameId, positions: of }) =>
        of.flatMap(({ position, lines }) =>
          (declared ? lines : [...lines].sort(byName))
            .filter(({ officialId }) => !tied.has(officialId))
            .map(({ officialId, name, tier, eligible }) => ({
              ...{ gameId, position, officialId, name },
              ...(declared ? { tier, eligible } : { tier: null, eligible: null }),
            })),
        ),
      ),
    };
  };

  api.get(
    '/api/my/committee-seats',
    {
      config: { policy: policies.staff },
      schema: {
        tags,
        summary: 'The selections on whose committees one sits, the newest first',
        response: { 200: seatsAnswer },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      return (await readSeats(pool, conferenceId, personId)).map(({ id, ...seat }) => ({
        selectionId: id,
        ...seat,
      }));
    },
  );

  api.get(
    '/api/my/committee-seats/:selectionId',
    {
      config,
      schema: {
        tags,
        summary: 'One’s own seat: conflicts, votes and notes, and on whom to vote',
        params: ofSelection,
        response: { 200: seatAnswer },
      },
    },
    async (request) => answer(sessionOf(request), request.params.selectionId),
  );

  api.put(
    '/api/my/committee-seats/:selectionId/conflicts',
    {
      config,
      schema: {
        tags,
        summary: 'Declare with whom one is in conflict, be it nobody, in place of what was declared before',
        description: 'What was written of an official now named is deleted.',
        params: ofSelection,
        body: conflictsSchema,
        response: { 200: seatAnswer },
      },
    },
    async (request) => {
      const { selectionId } = request.params;
      await declareConflicts(pool, sessionOf(request), selectionId, request.body.conflicts);
      return answer(sessionOf(request), selectionId);
    },
  );

  api.put(
    '/api/my/committee-seats/:selectionId/games/:selectionGameId/positions/:position',
    {
      config,
      schema: {
        tags,
        summary: 'Write votes and notes on candidates of one position of a game',
        description:
          'Whoever is sent is written anew, and without vote and note taken out; whoever is not sent stays as they were.',
        params: ofGame.extend({ position: z.enum(positions) }),
        body: ballotSchema,
        response: { 200: seatAnswer },
      },
    },
    async (request) => {
      const { selectionId, selectionGameId: gameId, position } = request.params;
      const ballot = { gameId, position, typed: request.body.votes };
      await keepBallot(pool, sessionOf(request), selectionId, ballot);
      return answer(sessionOf(request), selectionId);
    },
  );

  api.post(
    '/api/my/committee-seats/:selectionId/seal',
    {
      config,
      schema: {
        tags,
        summary: 'Seal one’s ballot: from then on it counts and stays',
        params: ofSelection,
        response: { 200: seatAnswer },
      },
    },
    async (request) => {
      const { selectionId } = request.params;
      await sealBallot(pool, sessionOf(request), selectionId);
      return answer(sessionOf(request), selectionId);
    },
  );
}
