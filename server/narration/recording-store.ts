import type pg from 'pg';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { readFilmSetting } from '../films/film-setting.ts';
import { spaceTaken } from '../films/film-store.ts';
import { notFound, Problem } from '../web/problem.ts';
import type { Recording } from './recording.ts';

/** A play as a program has it. */
export interface PlayOfProgram {
  readonly programId: string;
  readonly playId: string;
}

const columns = `n.id, n.seconds, n.bytes::float8 AS bytes, n.sha256, n.made_at AS "madeAt",
  p.given_name || ' ' || p.family_name AS "madeBy"`;
const from = `narration n JOIN person p ON p.conference_id = n.conference_id AND p.id = n.made_by`;

/** What was recorded for a play and is still here, the newest first. */
export async function listRecordings(
  db: Queryable,
  conferenceId: string,
  { programId, playId }: PlayOfProgram,
): Promise<Recording[]> {
  const { rows } = await db.query<Recording>(
    `SELECT ${columns} FROM ${from} WHERE n.conference_id = $1 AND n.program_id = $2 AND n.play_id = $3
      ORDER BY n.made_at DESC, n.id`,
    [conferenceId, programId, playId],
  );
  return rows;
}

/** Every recording of a program, by id. */
export async function recordingsOfProgram(
  db: Queryable,
  conferenceId: string,
  programId: string,
): Promise<Map<string, Recording>> {
  const { rows } = await db.query<Recording>(
    `SELECT ${columns} FROM ${from} WHERE n.conference_id = $1 AND n.program_id = $2`,
    [conferenceId, programId],
  );
  return new Map(rows.map((one) => [one.id, one]));
}

/** Undefined when it is no longer here. */
export async function findRecording(
  db: Queryable,
  conferenceId: string,
  recordingId: string,
): Promise<Recording | undefined> {
  const { rows } = await db.query<Recording>(
    `SELECT ${columns} FROM ${from} WHERE n.conference_id = $1 AND n.id = $2`,
    [conferenceId, recordingId],
  );
  return rows[0];
}

/** @throws Problem 404 when the program has no such recording */
export async function recordingOf(
  db: Queryable,
  conferenceId: string,
  programId: string,
  recordingId: string,
): Promise<Recording> {
  const found = (await recordingsOfProgram(db, conferenceId, programId)).get(recordingId);
  if (!found) throw notFound('recording of this training program');
  return found;
}

const inMegabytes = (bytes: number) => `${Math.ceil(bytes / 1e6).toLocaleString('en-US')} MB`;

/**
 * Adds a recording whose file is there already.
 * @throws Problem 404 when its program was removed meanwhile; 413 where the conference's room for films and recordings does not hold it
 */
export async function addRecording(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  { programId, playId }: PlayOfProgram,
  { id, seconds, bytes, sha256 }: Pick<Recording, 'id' | 'seconds' | 'bytes' | 'sha256'>,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    // One after the other, so that two files cannot take the same room.
    await client.query('SELECT FROM conference WHERE id = $1 FOR NO KEY UPDATE', [conferenceId]);
    const { space } = await readFilmSetting(client, conferenceId);
    if ((await spaceTaken(client, conferenceId)) + bytes > space * 1e6)
      throw new Problem(
        413,
        'Too large',
        `Films and recordings may take ${inMegabytes(space * 1e6)} here, and there is no room left for this one. Remove a film that is not needed any more, or raise the limit (Settings, Film); then keep it.`,
      );
    const program = await client.query(
      'SELECT FROM training_program WHERE conference_id = $1 AND id = $2 FOR KEY SHARE',
      [conferenceId, programId],
    );
    if (!program.rowCount) throw notFound('training program');
    await client.query(
      `INSERT INTO narration (conference_id, id, program_id, play_id, seconds, bytes, sha256, made_by)
       VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
      [conferenceId, id, programId, playId, seconds, bytes, sha256, personId],
    );
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'recorded a narration' },
      ...{ subjectKind: 'training_program', subjectId: programId },
      after: { recordingId: id, playId, seconds, sha256 },
    });
  });
}

/**
 * Holds a recording for a cut that is to name it, within the transaction that keeps the cut.
 * @returns false when it is none of that play, or no longer here
 */
export async function holdRecording(
  client: Queryable,
  conferenceId: string,
  { programId, playId }: PlayOfProgram,
  recordingId: string,
): Promise<boolean> {
  // Written, not only read: who removes what nothing names then looks at it again.
  const { rowCount } = await client.query(
    `UPDATE narration SET let_go_at = NULL
      WHERE conference_id = $1 AND program_id = $2 AND play_id = $3 AND id = $4`,
    [conferenceId, programId, playId, recordingId],
  );
  return rowCount === 1;
}
