import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../../accounts/policy.ts';
import { positions } from '../../../football/positions.ts';
import { chanceText } from '../../../results/pages/rank-words.ts';
import { type Vote, votes } from '../../../selection/ballots.ts';
import { tierRule } from '../../../selection/tiers.ts';
import { type Form, formOf, listOf, textOf } from '../../../web/form.ts';
import { number } from '../../../web/format.ts';
import { notFound } from '../../../web/problem.ts';
import { doing } from '../../pages/doing.ts';
import { ofSelection } from '../../postseason-schemas.ts';
import { whatDecides } from '../../selection.ts';
import { eligibleWords, holdsTone, objections, rankRange, stateTone } from '../../words.ts';
import { type Basis, linesOf } from '../basis.ts';
import {
  type BallotTyped,
  declareConflicts,
  keepBallot,
  type OwnSeat,
  readOwnSeat,
  readSeats,
  sealBallot,
} from '../stores/ballot-store.ts';
import { readBasis } from '../stores/basis-store.ts';

const ofPlace = ofSelection.extend({ selectionGameId: z.uuid(), position: z.enum(positions) });

/** A committee member's own: conflicts first, then votes and notes, then the seal. Nobody sees another's here. */
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
    const open = selection.state === 'sealed voting' && !member.sealedAt;
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
      const declared = listOf(form.conflict)
        .filter((officialId) => z.uuid().safeParse(officialId).success)
        .map((officialId) => ({
          officialId,
          reason: textOf(form[`reason-${officialId}`]).trim().slice(0, 2000),
        }));
      return doing(
        reply,
        async () => {
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

  async function showBallot(
    request: FastifyRequest,
    reply: FastifyReply,
    { selectionId, selectionGameId: gameId, position }: z.output<typeof ofPlace>,
    told: { refused?: string; typed?: Form } = {},
  ) {
    const { conferenceId } = sessionOf(request);
    const seat = await readOwnSeat(pool, sessionOf(request), selectionId);
    const basis = await readBasis(pool, conferenceId, selectionId);
    const game = seat.selection.games.find(({ id }) => id === gameId);
    if (!basis || !game) throw notFound('game');
    const lines = linesOf(basis, gameId, position);
    const conflicted = new Set(seat.conflicts.map(({ officialId }) => officialId));
    const enough = lines.filter(({ rank }) => rank).length <= basis.top;
    const order = basis.games.flatMap((one) =>
      one.positions.map((of) => ({ gameId: one.gameId, position: of.position })),
    );
    const next = order[order.findIndex((one) => one.gameId === gameId && one.position === position) + 1];
    return reply.page(
      'postseason/ballot',
      {
        ...{ selection: seat.selection, game, position, basis, tierRule, whatDecides, next },
        refused: told.refused,
        open: seat.selection.state === 'sealed voting' && !seat.member.sealedAt,
        declared: seat.member.conflictsDeclaredAt !== null,
        hidden: lines.filter(({ officialId }) => conflicted.has(officialId)).length,
        candidates: lines
          .filter(({ officialId }) => !conflicted.has(officialId))
          .map((line) => {
            const own = seat.ballots.find(
              (one) =>
                one.gameId === gameId && one.position === position && one.officialId === line.officialId,
            );
            const vote = told.typed ? textOf(told.typed[`vote-${line.officialId}`]) : (own?.vote ?? '');
            return {
              ...line,
              eligibleWords: eligibleWords[line.eligible],
              tone: holdsTone[line.eligible],
              objections: objections(line.findings.filter(({ holds }) => holds === 'not met')),
              notKnown: line.findings
                .filter(({ holds }) => holds === 'not known')
                .map(({ rule }) => rule)
                .join(', '),
              likely: rankRange(line.rank),
              gradeText: line.grade ? number(line.grade.grade, 2) : '–',
              gradeRange: line.grade ? `${number(line.grade.low, 2)} to ${number(line.grade.high, 2)}` : '',
              chanceText: chanceText(line.chance, enough),
              otherChanceText: chanceText(line.otherChance, enough),
              crewNames: line.crews.join(', '),
              votes: votes.map((value) => ({ value, chosen: value === vote })),
              none: vote === '',
              note: told.typed ? textOf(told.typed[`note-${line.officialId}`]) : (own?.note ?? ''),
            };
          }),
      },
      { title: `${position}, ${game.name}`, styles: ['committee.css'] },
    );
  }

  const place = '/my/committee/:selectionId/games/:selectionGameId/:position';
  pages.get(place, { config, schema: { hide: true, params: ofPlace } }, async (request, reply) =>
    showBallot(request, reply, request.params),
  );

  pages.post(place, { config, schema: { hide: true, params: ofPlace } }, async (request, reply) => {
    const { selectionId, selectionGameId: gameId, position } = request.params;
    const form = formOf(request.body);
    const typed = listOf(form.official).map((officialId): BallotTyped => {
      const vote = textOf(form[`vote-${officialId}`]);
      return {
        officialId,
        vote: votes.includes(vote as Vote) ? (vote as Vote) : null,
        note: textOf(form[`note-${officialId}`]).trim().slice(0, 4000),
      };
    });
    return doing(
      reply,
      async () => {
        await keepBallot(pool, sessionOf(request), selectionId, { gameId, position, typed });
        const then = textOf(form.then);
        return then.startsWith(`${address(selectionId)}/`) ? then : address(selectionId);
      },
      (refused) => showBallot(request, reply, request.params, { refused, typed: form }),
    );
  });
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
