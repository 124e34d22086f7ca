import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { invalid, notFound } from '../../web/problem.ts';
import { readAttendance } from './attendance-store.ts';

/** A meeting at which an edition was shown. Days are YYYY-MM-DD. */
interface Session {
  readonly id: string;
  readonly heldOn: string;
  readonly place: string;
  readonly makeUpBy: string | null;
  /** Ids of who was there. */
  readonly attended: readonly string[];
}

export async function listSessions(
  db: Queryable,
  conferenceId: string,
  programId: string,
  number: number,
): Promise<Session[]> {
  const { rows } = await db.query<Session>(
    `SELECT s.id, to_char(s.held_on, 'YYYY-MM-DD') AS "heldOn", s.place, to_char(s.make_up_by, 'YYYY-MM-DD') AS "makeUpBy",
            ARRAY(SELECT t.person_id::text FROM training_attended t
                   WHERE t.conference_id = $1 AND t.session_id = s.id ORDER BY t.person_id) AS attended
       FROM training_session s
      WHERE s.conference_id = $1 AND s.program_id = $2 AND s.edition_number = $3 ORDER BY s.held_on, s.id`,
    [conferenceId, programId, number],
  );
  return rows;
}

/** @throws Problem 400 naming `makeUpBy` when it lies before the session. */
export async function holdSession(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  number: number,
  { heldOn, place, makeUpBy }: Pick<Session, 'heldOn' | 'place' | 'makeUpBy'>,
): Promise<string> {
  if (makeUpBy !== null && makeUpBy < heldOn)
    throw invalid([{ field: 'makeUpBy', message: 'must not lie before the session' }]);
  return inTransaction(pool, async (client) => {
    await readAttendance(client, conferenceId, programId, number);
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO training_session (conference_id, program_id, edition_number, held_on, place, make_up_by, made_by)
       VALUES ($1, $2, $3, $4, $5, $6, $7) RETURNING id`,
      [conferenceId, programId, number, heldOn, place, makeUpBy, personId],
    );
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'training program: session' },
      ...{
        subjectKind: 'training_program',
        subjectId: programId,
        after: { edition: number, heldOn, makeUpBy },
      },
    });
    return rows[0]!.id;
  });
}

/**
 * Says who was at a session: these, and nobody else.
 *
 * @throws Problem 400 naming `personIds` where somebody is not of the edition's audience
 */
export async function tickAttended(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  number: number,
  sessionId: string,
  personIds: readonly string[],
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { rowCount } = await client.query(
      `SELECT FROM training_session WHERE conference_id = $1 AND id = $2 AND program_id = $3 AND edition_number = $4
          FOR UPDATE`,
      [conferenceId, sessionId, programId, number],
    );
    if (rowCount === 0) throw notFound('session');
    const { people } = await readAttendance(client, conferenceId, programId, number);
    if (personIds.some((id) => !people.some((one) => one.personId === id)))
      throw invalid([
        { field: 'personIds', message: 'name people of this edition’s audience; add others to it first' },
      ]);
    await client.query(
      'DELETE FROM training_attended WHERE conference_id = $1 AND session_id = $2 AND NOT person_id = ANY ($3::uuid[])',
      [conferenceId, sessionId, personIds],
    );
    await client.query(
      `INSERT INTO training_attended (conference_id, session_id, person_id, ticked_by)
       SELECT $1, $2, id, $4 FROM unnest($3::uuid[]) AS a (id) ON CONFLICT DO NOTHING`,
      [conferenceId, sessionId, personIds, personId],
    );
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'training program: who was at the session' },
      ...{
        subjectKind: 'training_program',
        subjectId: programId,
        after: { session: sessionId, people: personIds },
      },
    });
  });
}
