import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../../accounts/policy.ts';
import { positions } from '../../../football/positions.ts';
import { chanceText } from '../../../results/pages/rank-words.ts';
import { votes } from '../../../selection/ballots.ts';
import { tierRule } from '../../../selection/tiers.ts';
import { type Form, formOf, isAsShown, listOf, rowAsShown, textOf } from '../../../web/form.ts';
import { number } from '../../../web/format.ts';
import { invalid, notFound } from '../../../web/problem.ts';
import { eligibleWords, holdsTone, objections, rankRange } from '../../candidate-words.ts';
import { doing } from '../../pages/doing.ts';
import { ofSelection } from '../../postseason-schemas.ts';
import { isAt, whatDecides } from '../../selection.ts';
import { linesOf } from '../basis.ts';
import { type BallotTyped, keepBallot, readOwnSeat } from '../stores/ballot-store.ts';
import { readBasis } from '../stores/basis-store.ts';
import { longestNote, wordsTyped } from '../words-typed.ts';

const ofPlace = ofSelection.extend({ selectionGameId: z.uuid(), position: z.enum(positions) });

/** What a member holds of the candidates of one position of one game: read, voted on and noted once conflicts are declared. */
export async function ballotPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.seatOfSelection };
  const address = (id: string) => `/my/committee/${id}`;

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
    const declared = seat.member.conflictsDeclaredAt !== null;
    // Nobody reads of somebody with whom they may yet have a conflict to declare.
    const shown = declared ? lines : [];
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
        open: isAt(seat.selection, 'sealed voting') && !seat.member.sealedAt,
        declared,
        hidden: lines.filter(({ officialId }) => conflicted.has(officialId)).length,
        candidates: shown
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
              was: rowAsShown([own?.vote ?? '', own?.note ?? '']),
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
    return doing(
      reply,
      async () => {
        const typed = listOf(form.official).flatMap((officialId) => ballotTyped(form, officialId) ?? []);
        await keepBallot(pool, sessionOf(request), selectionId, { gameId, position, typed });
        const then = textOf(form.then);
        return then.startsWith(`${address(selectionId)}/`) ? then : address(selectionId);
      },
      (refused) => showBallot(request, reply, request.params, { refused, typed: form }),
    );
  });
}

/** What was written of an official; null where it was left as it was shown. */
function ballotTyped(form: Form, officialId: string): BallotTyped | null {
  const vote = textOf(form[`vote-${officialId}`]);
  const field = `note-${officialId}`;
  const note = wordsTyped(textOf(form[field]), field, longestNote, 'a note');
  if (isAsShown(form, `was-${officialId}`, [vote, note])) return null;
  if (vote === '') return { officialId, vote: null, note };
  const known = votes.find((one) => one === vote);
  if (!known) throw invalid([{ field: `vote-${officialId}`, message: 'vote for, against, abstain, or not' }]);
  return { officialId, vote: known, note };
}
