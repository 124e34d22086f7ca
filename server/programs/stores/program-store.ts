import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { conflict, invalid } from '../../web/problem.ts';
import type { Frame, Program, ProgramPlay } from '../program.ts';
import { changeProgram } from './change-program.ts';
import { type CutBefore, writeCut } from './cut-store.ts';
import { frameOf, readProgram, writeFrame, writePlays } from './program-rows.ts';

interface ProgramLine {
  readonly id: string;
  readonly title: string;
  readonly goal: string;
  readonly audience: Frame['audience'];
  readonly minutes: number;
  readonly dueOn: string | null;
  readonly plays: number;
  /** The newest one's number; 0 before the first release. */
  readonly edition: number;
  /** Changed since the newest edition. */
  readonly changedSince: boolean;
  readonly changedAt: string;
}

/** A season's programs, the last changed first. */
export async function listPrograms(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ProgramLine[]> {
  const { rows } = await db.query<Omit<ProgramLine, 'changedAt'> & { changedAt: Date }>(
    `SELECT p.id, p.title, p.goal, p.audience, p.minutes, to_char(p.due_on, 'YYYY-MM-DD') AS "dueOn",
            (SELECT count(*)::int FROM training_play t WHERE t.conference_id = $1 AND t.program_id = p.id) AS plays,
            coalesce(e.number, 0) AS edition, coalesce(p.changed_at > e.released_at, false) AS "changedSince",
            p.changed_at AS "changedAt"
       FROM training_program p
       LEFT JOIN LATERAL (SELECT number, released_at FROM training_edition
                           WHERE conference_id = $1 AND program_id = p.id ORDER BY number DESC LIMIT 1) e ON true
      WHERE p.conference_id = $1 AND p.season_id = $2 ORDER BY p.changed_at DESC, p.id`,
    [conferenceId, seasonId],
  );
  return rows.map((row) => ({ ...row, changedAt: row.changedAt.toISOString() }));
}

/** @throws Problem 400 naming the field when the season has no such crew. */
export async function createProgram(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  seasonId: string,
  frame: Frame,
): Promise<string> {
  return inTransaction(pool, async (client) => {
    await knowsCrew(client, conferenceId, seasonId, frame);
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO training_program (conference_id, season_id, title, changed_by, last_change)
       VALUES ($1, $2, $3, $4, 'opened') RETURNING id`,
      [conferenceId, seasonId, frame.title, personId],
    );
    const { id } = rows[0]!;
    await writeFrame(client, conferenceId, id, frame);
    await appendAudit(client, {
      conferenceId,
      actorId: personId,
      action: 'training program opened',
      subjectKind: 'training_program',
      subjectId: id,
      after: { ...frame, seasonId },
    });
    return id;
  });
}

/** @throws Problem 409 when somebody changed the frame since `frameVersion`. */
export async function changeFrame(
  pool: pg.Pool,
  acting: PersonActing,
  programId: string,
  frame: Frame,
  frameVersion: number,
): Promise<void> {
  await changeProgram(pool, acting, programId, { frameVersion }, async (client, program) => {
    await knowsCrew(client, acting.conferenceId, program.seasonId, frame);
    await writeFrame(client, acting.conferenceId, programId, frame);
    return { said: 'changed the frame', raises: 'frame', before: frameOf(program), after: frame };
  });
}

/**
 * Takes back the last change; done again, it makes that change again.
 * @throws Problem 409 when there is nothing to take back, or something else was changed since `version`.
 */
export async function undoLast(
  pool: pg.Pool,
  acting: PersonActing,
  programId: string,
  version: number,
): Promise<void> {
  const { conferenceId } = acting;
  await changeProgram(pool, acting, programId, { version }, async (client, program) => {
    const { rows } = await client.query<{
      before: { frame: Frame; plays: ProgramPlay[]; cuts?: CutBefore[] } | null;
    }>('SELECT before_last AS before FROM training_program WHERE conference_id = $1 AND id = $2', [
      conferenceId,
      programId,
    ]);
    const before = rows[0]?.before;
    if (!before) throw conflict('There is no change of this program to take back.');
    await writeFrame(client, conferenceId, programId, before.frame);
    const now = new Map(program.plays.map((play) => [play.playId, play.version]));
    // Whoever has a card open learns that it changed.
    const plays = before.plays.map((play) => ({
      ...play,
      version: Math.max(play.version, now.get(play.playId) ?? 0) + 1,
    }));
    await writePlays(client, conferenceId, programId, plays);
    const cuts: CutBefore[] = [];
    for (const one of before.cuts ?? []) cuts.push(await writeCut(client, acting, program, one));
    return { said: undone(program.lastChange), raises: 'all', cuts };
  });
}

const taken = 'took back: ';
const undone = (change: string) =>
  change.startsWith(taken) ? change.slice(taken.length) : `${taken}${change}`;

/** @throws Problem 409 when it was released: an edition stays. */
export async function removeProgram(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
): Promise<Program> {
  return inTransaction(pool, async (client) => {
    const program = await readProgram(client, conferenceId, programId, 'lock');
    const editions = await client.query(
      'SELECT FROM training_edition WHERE conference_id = $1 AND program_id = $2 LIMIT 1',
      [conferenceId, programId],
    );
    if (editions.rowCount !== 0)
      throw conflict('This program was released; what was released stays, and its program with it.');
    await client.query('DELETE FROM training_program WHERE conference_id = $1 AND id = $2', [
      conferenceId,
      programId,
    ]);
    await appendAudit(client, {
      conferenceId,
      actorId: personId,
      action: 'training program removed',
      subjectKind: 'training_program',
      subjectId: programId,
      before: { ...frameOf(program), plays: program.plays.map(({ playId }) => playId) },
    });
    return program;
  });
}

async function knowsCrew(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
  { audienceCrewId }: Frame,
): Promise<void> {
  if (audienceCrewId === null) return;
  const { rowCount } = await client.query(
    'SELECT FROM crew WHERE conference_id = $1 AND season_id = $2 AND id = $3',
    [conferenceId, seasonId, audienceCrewId],
  );
  if (rowCount === 0) throw invalid([{ field: 'audienceCrewId', message: 'names no crew of this season' }]);
}
