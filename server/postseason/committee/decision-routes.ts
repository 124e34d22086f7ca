import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import type { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { tallyOf } from '../../selection/ballots.ts';
import { ofGame, ofSelection, tags } from '../postseason-schemas.ts';
import { ballotsAreOpen, slotSchema } from '../selection.ts';
import { readSelection } from '../stores/selection-rows.ts';
import { decisionsAnswer, reasonsSchema } from './committee-schemas.ts';
import { asShown, missingReasons, placesDecided } from './decisions.ts';
import { readOpenedBallots } from './stores/ballot-store.ts';
import { basisNow } from './stores/basis-store.ts';
import { readConflicts } from './stores/member-store.ts';
import { keepReasons, readDeclined, readPassOvers } from './stores/pass-over-store.ts';

/** Whom people chose and passed over for each place, and why, under /api. */
export async function decisionRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };

  const answer = async (
    { conferenceId, personId }: Pick<PersonActing, 'conferenceId' | 'personId'>,
    id: string,
  ): Promise<z.output<typeof decisionsAnswer>> => {
    const selection = await readSelection(pool, conferenceId, id);
    const { basis, frozen } = await basisNow(pool, app.results, conferenceId, selection);
    const ballots = await readOpenedBallots(pool, conferenceId, selection);
    const conflicts = ballotsAreOpen(selection) ? await readConflicts(pool, conferenceId, id) : [];
    const places = placesDecided(
      selection,
      basis,
      await readPassOvers(pool, conferenceId, id),
      await readDeclined(pool, conferenceId, id),
    );
    const tied = new Set(
      conflicts.filter(({ memberId }) => memberId === personId).map(({ officialId }) => officialId),
    );
    return {
      ...{ state: selection.state, keptCandidates: frozen },
      missing: missingReasons(places).map(({ words }) => words),
      places: places.map((place) => {
        const { game, slot, choice, passedOver } = place;
        const tallies = choice
          ? tallyOf(
              ballots.filter((one) => one.gameId === game.id && one.position === choice.position),
              conflicts,
            )
          : [];
        const votesOn = (officialId: string) => {
          // Whoever is in conflict with somebody does not read about them.
          const tally = tied.has(officialId)
            ? undefined
            : tallies.find((one) => one.officialId === officialId);
          if (!tally) return null;
          const { for: inFavor, against, abstain, conflicts: inConflict, notes } = tally;
          return {
            ...{ for: inFavor, against, abstain, conflicts: inConflict },
            notes: notes.map(({ memberId, note }) => ({ memberId, note })),
          };
        };
        return {
          ...{ gameId: game.id, slot, seen: asShown(place) },
          chosen: choice && {
            officialId: choice.officialId,
            position: choice.position,
            reason: choice.reason,
            votes: votesOn(choice.officialId),
          },
          passedOver: passedOver.map(({ officialId, place: rank, sameTier, recorded }) => ({
            ...{ officialId, place: rank, sameTier },
            reason: recorded?.reason ?? null,
            recordedBy: recorded?.recordedBy ?? null,
            votes: votesOn(officialId),
          })),
        };
      }),
    };
  };

  api.get(
    '/api/selections/:selectionId/decisions',
    {
      config,
      schema: {
        tags,
        summary: 'Whom people chose and passed over for each place, why, and what the committee holds',
        params: ofSelection,
        response: { 200: decisionsAnswer },
      },
    },
    async (request) => answer(sessionOf(request), request.params.selectionId),
  );

  api.put(
    '/api/selections/:selectionId/games/:selectionGameId/places/:slot/reasons',
    {
      config,
      schema: {
        tags,
        summary: 'Record why one was chosen for a place, and why those ranked higher were not',
        description: 'Refused where somebody decided on the place since `seen` was read.',
        params: ofGame.extend({ slot: slotSchema }),
        body: reasonsSchema,
        response: { 200: decisionsAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { selectionId, selectionGameId: gameId, slot } = request.params;
      const selection = await readSelection(pool, session.conferenceId, selectionId);
      const { basis } = await basisNow(pool, app.results, session.conferenceId, selection);
      await keepReasons(pool, session, selectionId, { gameId, slot }, request.body, basis);
      return answer(session, selectionId);
    },
  );
}
