import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../../accounts/policy.ts';
import { type Form, formOf, listOf, textOf } from '../../../web/form.ts';
import { stateTone } from '../../candidate-words.ts';
import { doing } from '../../pages/doing.ts';
import { ofSelection } from '../../postseason-schemas.ts';
import { isAt, whatDecides } from '../../selection.ts';
import type { Basis } from '../basis.ts';
import {
  declareConflicts,
  type OwnSeat,
  readOwnSeat,
  readSeats,
  sealBallot,
} from '../stores/ballot-store.ts';
import { readBasis } from '../stores/basis-store.ts';
import { longestReason, wordsTyped } from '../words-typed.ts';

/** A committee member's own: conflicts first, then votes and notes (`ballot-pages.ts`), then the seal. Nobody sees another's here. */
export async function seatPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.seatOfSelection };
  const address = (id: string) => `/my/committee/${id}`;

  pages.get(
    '/my/committee',
    { config: { policy: policies.staff }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const seats = await readSeats(pool, conferenceId, personId);
      return reply.page(
        'postseason/seats',
        {
          seats: seats.map((seat) => ({
            ...seat,
            tone: stateTone[seat.state],
            next:
              seat.state !== 'sealed voting'
                ? ''
                : seat.sealed
                  ? 'You sealed your ballot.'
                  : seat.declared
                    ? 'Your votes and notes'
                    : 'Declare your conflicts first',
          })),
        },
        { title: 'Committees' },
      );
    },
  );

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    selectionId: string,
    told: { refused?: string; typed?: Form } = {},
  ) {
    const { conferenceId, timeZone } = sessionOf(request);
    const seat = await readOwnSeat(pool, sessionOf(request), selectionId);
    const basis = await readBasis(pool, conferenceId, selectionId);
    const { selection, member } = seat;
    const open = isAt(selection, 'sealed voting') && !member.sealedAt;
    return reply.page(
      'postseason/seat',
      {
        ...{ selection, member, timeZone, whatDecides, open, refused: told.refused },
        tone: stateTone[selection.state],
        preparing: selection.state === 'preparing',
        declared: member.conflictsDeclaredAt !== null,
        written: seat.ballots.length,
        candidates: basis ? conflictRows(basis, seat, told.typed) : [],
        games: basis
          ? selection.games.map((game) => ({
              ...game,
              positions: basis.games
                .find(({ gameId }) => gameId === game.id)!
                .positions.map(({ position, lines }) => ({
                  position,
                  candidates: lines.length,
                  done: seat.ballots.filter((one) => one.gameId === game.id && one.position === position)
                    .length,
                })),
            }))
          : [],
      },
      { title: selection.title, styles: ['committee.css'] },
    );
  }

  pages.get(
    '/my/committee/:selectionId',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => show(request, reply, request.params.selectionId),
  );

  pages.post(
    '/my/committee/:selectionId/conflicts',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => {
      const { selectionId } = request.params;
      const form = formOf(request.body);
      return doing(
        reply,
        async () => {
          const declared = listOf(form.conflict)
            .filter((officialId) => z.uuid().safeParse(officialId).success)
            .map((officialId) => {
              const field = `reason-${officialId}`;
              return {
                officialId,
                reason: wordsTyped(textOf(form[field]), field, longestReason, 'a reason'),
              };
            });
          await declareConflicts(pool, sessionOf(request), selectionId, declared);
          return address(selectionId);
        },
        (refused) => show(request, reply, selectionId, { refused, typed: form }),
      );
    },
  );

  pages.post(
    '/my/committee/:selectionId/seal',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => {
      const { selectionId } = request.params;
      return doing(
        reply,
        async () => {
          await sealBallot(pool, sessionOf(request), selectionId);
          return address(selectionId);
        },
        (refused) => show(request, reply, selectionId, { refused }),
      );
    },
  );
}

/** Everybody who is a candidate anywhere, to declare conflicts with. */
function conflictRows(basis: Basis, { conflicts }: OwnSeat, typed: Form | undefined) {
  const all = new Map(
    basis.games.flatMap(({ positions: of }) =>
      of.flatMap(({ lines, position }) =>
        lines.map(({ officialId, name }) => [officialId, { officialId, name, position }] as const),
      ),
    ),
  );
  const ticked = typed ? new Set(listOf(typed.conflict)) : null;
  return [...all.values()]
    .map((one) => {
      const own = conflicts.find(({ officialId }) => officialId === one.officialId);
      return {
        ...one,
        ticked: ticked ? ticked.has(one.officialId) : own !== undefined,
        reason: typed ? textOf(typed[`reason-${one.officialId}`]) : (own?.reason ?? ''),
      };
    })
    .sort((a, b) => a.name.localeCompare(b.name));
}
