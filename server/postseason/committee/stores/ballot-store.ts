import type pg from 'pg';
import type { PersonActing } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import type { Position } from '../../../football/positions.ts';
import type { Ballot, Vote } from '../../../selection/ballots.ts';
import { conflict, invalid, notFound } from '../../../web/problem.ts';
import { ballotsAreOpen, type Selection } from '../../selection.ts';
import { readSelection } from '../../stores/selection-rows.ts';
import { noted } from '../../stores/selection-store.ts';
import { linesOf } from '../basis.ts';
import { readBasis } from './basis-store.ts';
import { type DeclaredConflict, type Member, readConflicts, readMembers } from './member-store.ts';

/** What a member sees of a selection: their own, and nothing that another wrote. */
export interface OwnSeat {
  readonly selection: Selection;
  readonly member: Member;
  readonly conflicts: readonly DeclaredConflict[];
  readonly ballots: readonly Ballot[];
}

/** @throws Problem 404 where the person does not sit on the committee */
export async function readOwnSeat(
  db: Queryable,
  { conferenceId, personId }: Pick<PersonActing, 'conferenceId' | 'personId'>,
  selectionId: string,
  lock: 'lock' | null = null,
): Promise<OwnSeat> {
  const selection = await readSelection(db, conferenceId, selectionId, lock);
  const member = (await readMembers(db, conferenceId, selectionId)).find((one) => one.personId === personId);
  if (!member) throw notFound('selection');
  return {
    selection,
    member,
    conflicts: (await readConflicts(db, conferenceId, selectionId)).filter(
      (one) => one.memberId === personId,
    ),
    ballots: await readBallots(db, conferenceId, selectionId, personId),
  };
}

/** @param memberId only theirs; null for all, which is for when they are open */
async function readBallots(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
  memberId: string | null,
): Promise<Ballot[]> {
  const { rows } = await db.query<Ballot>(
    `SELECT b.member_id AS "memberId", b.game_id AS "gameId", b.position, b.official_id AS "officialId", b.vote, b.note
       FROM selection_ballot b
       JOIN selection_member m ON m.conference_id = b.conference_id AND m.selection_id = b.selection_id
                              AND m.person_id = b.member_id
      WHERE b.conference_id = $1 AND b.selection_id = $2
        AND CASE WHEN $3::uuid IS NULL THEN m.sealed_at IS NOT NULL ELSE b.member_id = $3 END
      ORDER BY b.game_id, b.position, b.official_id, b.member_id`,
    [conferenceId, selectionId, memberId],
  );
  return rows;
}

/** All sealed ballots, once they are open; none before, whoever asks. */
export async function readOpenedBallots(
  db: Queryable,
  conferenceId: string,
  { id, state }: Selection,
): Promise<Ballot[]> {
  return ballotsAreOpen({ state }) ? readBallots(db, conferenceId, id, null) : [];
}

interface SeatLine {
  readonly id: string;
  readonly title: string;
  readonly season: string;
  readonly state: Selection['state'];
  readonly declared: boolean;
  readonly sealed: boolean;
}

/** The selections on whose committees somebody sits, the newest first. */
export async function readSeats(db: Queryable, conferenceId: string, personId: string): Promise<SeatLine[]> {
  const { rows } = await db.query<SeatLine>(
    `SELECT s.id, s.title, n.name AS season, s.state, m.conflicts_declared_at IS NOT NULL AS declared,
            m.sealed_at IS NOT NULL AS sealed
       FROM selection_member m
       JOIN selection s ON s.conference_id = m.conference_id AND s.id = m.selection_id
       JOIN season n ON n.conference_id = s.conference_id AND n.id = s.season_id
      WHERE m.conference_id = $1 AND m.person_id = $2 ORDER BY s.made_at DESC, s.id`,
    [conferenceId, personId],
  );
  return rows;
}

function mustBeVoting({ selection, member }: OwnSeat): void {
  if (selection.state === 'preparing')
    throw conflict(`${selection.title} is still prepared: voting has not begun.`);
  if (selection.state !== 'sealed voting')
    throw conflict(`The ballots of ${selection.title} are open: nothing is added to them.`);
  if (member.sealedAt) throw conflict('You sealed your ballot: it stays as it is.');
}

/**
 * Declares conflicts anew, in place of those declared before. What was written of an official now named goes.
 * @throws Problem 400 naming the field of a reason that is missing
 */
export async function declareConflicts(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  declared: readonly { officialId: string; reason: string }[],
): Promise<void> {
  const { conferenceId, personId } = acting;
  const wrong = declared.filter(({ reason }) => reason === '');
  if (wrong.length > 0)
    throw invalid(
      wrong.map(({ officialId }) => ({ field: `reason-${officialId}`, message: 'say what the conflict is' })),
    );
  await inTransaction(pool, async (client) => {
    const seat = await readOwnSeat(client, acting, selectionId, 'lock');
    mustBeVoting(seat);
    const basis = await readBasis(client, conferenceId, selectionId);
    const known = new Set(
      basis?.games.flatMap(({ positions }) =>
        positions.flatMap(({ lines }) => lines.map(({ officialId }) => officialId)),
      ),
    );
    const unknown = declared.filter(({ officialId }) => !known.has(officialId));
    if (unknown.length > 0)
      throw invalid([{ field: 'officialId', message: 'choose among the candidates of this selection' }]);
    const ids = declared.map(({ officialId }) => officialId);
    const own = [conferenceId, selectionId, personId];
    await client.query(
      'DELETE FROM selection_conflict WHERE conference_id = $1 AND selection_id = $2 AND member_id = $3',
      own,
    );
    await client.query(
      `INSERT INTO selection_conflict (conference_id, selection_id, member_id, official_id, reason)
       SELECT $1, $2, $3, * FROM unnest($4::uuid[], $5::text[])`,
      [...own, ids, declared.map(({ reason }) => reason)],
    );
    await client.query(
      `DELETE FROM selection_ballot WHERE conference_id = $1 AND selection_id = $2 AND member_id = $3
          AND official_id = ANY ($4::uuid[])`,
      [...own, ids],
    );
    await client.query(
      `UPDATE selection_member SET conflicts_declared_at = now()
        WHERE conference_id = $1 AND selection_id = $2 AND person_id = $3`,
      own,
    );
    // How many, not with whom: coordinators read the history while conflicts are sealed.
    await noted(client, acting, selectionId, 'selection: conflicts declared', {
      before: seat.member.conflictsDeclaredAt ? { conflicts: seat.conflicts.length } : null,
      after: { conflicts: ids.length },
    });
  });
}

export interface BallotTyped {
  readonly officialId: string;
  readonly vote: Vote | null;
  readonly note: string;
}

/**
 * Keeps what a member holds of the candidates of one position of one game. The history says that it was written, not what.
 * @throws Problem 409 before conflicts are declared, once sealed, or for one with whom a conflict is declared
 */
export async function keepBallot(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  { gameId, position, typed }: { gameId: string; position: Position; typed: readonly BallotTyped[] },
): Promise<void> {
  const { conferenceId, personId } = acting;
  await inTransaction(pool, async (client) => {
    const seat = await readOwnSeat(client, acting, selectionId, 'lock');
    mustBeVoting(seat);
    if (!seat.member.conflictsDeclaredAt)
      throw conflict('Declare your conflicts first, be it that you have none: then you vote.');
    const basis = await readBasis(client, conferenceId, selectionId);
    const lines = basis ? linesOf(basis, gameId, position) : [];
    for (const { officialId } of typed) {
      const line = lines.find((one) => one.officialId === officialId);
      if (!line) throw notFound('candidate');
      if (seat.conflicts.some((one) => one.officialId === officialId))
        throw conflict(`You declared a conflict with ${line.name}, and so do not vote on them.`);
    }
    const kept = typed.filter(({ vote, note }) => vote !== null || note !== '');
    const place = [conferenceId, selectionId, personId, gameId, position];
    await client.query(
      `DELETE FROM selection_ballot WHERE conference_id = $1 AND selection_id = $2 AND member_id = $3 AND game_id = $4
          AND position = $5 AND official_id = ANY ($6::uuid[])`,
      [...place, typed.map(({ officialId }) => officialId)],
    );
    await client.query(
      `INSERT INTO selection_ballot (conference_id, selection_id, member_id, game_id, position, official_id, vote, note)
       SELECT $1, $2, $3, $4, $5, * FROM unnest($6::uuid[], $7::text[], $8::text[])`,
      [
        ...place,
        kept.map(({ officialId }) => officialId),
        kept.map(({ vote }) => vote),
        kept.map(({ note }) => note),
      ],
    );
  });
}

/** Seals all that a member wrote: from then on it counts and stays. @throws Problem 409 where nothing is written */
export async function sealBallot(pool: pg.Pool, acting: PersonActing, selectionId: string): Promise<void> {
  await inTransaction(pool, async (client) => {
    const seat = await readOwnSeat(client, acting, selectionId, 'lock');
    mustBeVoting(seat);
    if (!seat.member.conflictsDeclaredAt)
      throw conflict('Declare your conflicts first, be it that you have none: then you vote.');
    if (seat.ballots.length === 0)
      throw conflict('There is no vote and no note of yours yet. To say nothing of anybody, abstain once.');
    await client.query(
      `UPDATE selection_member SET sealed_at = now() WHERE conference_id = $1 AND selection_id = $2 AND person_id = $3`,
      [acting.conferenceId, selectionId, acting.personId],
    );
    await noted(client, acting, selectionId, 'selection: ballot sealed', {
      after: { ballots: seat.ballots.length },
    });
  });
}
