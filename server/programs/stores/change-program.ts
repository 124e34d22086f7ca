import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { moment } from '../../web/format.ts';
import { conflict } from '../../web/problem.ts';
import type { Program } from '../program.ts';
import type { CutBefore } from './cut-store.ts';
import { frameOf, readProgram } from './program-rows.ts';

type Expected = Partial<Pick<Program, 'version' | 'frameVersion' | 'orderVersion'>>;

/** What a change did: null when there was nothing to do. */
type Done = {
  /** In words that complete "The last change: ...". */
  readonly said: string;
  readonly raises: 'frame' | 'order' | 'card' | 'all';
  readonly before?: object;
  readonly after?: object;
  /** Of the cuts that it changed: as they were. */
  readonly cuts?: readonly CutBefore[];
  /** It goes on with the last change, if that says the same: both are taken back together. */
  readonly goesOn?: boolean;
} | null;

/** Changes that go on with the last are taken back together as long as no more lies between them, milliseconds. */
const oneSitting = 600_000;

/**
 * Changes a program in one transaction, with its entry in the history and what it was before, so that the change can be
 * taken back.
 *
 * @param expected what the person had before their eyes: refused with 409 when somebody else changed that since
 * @throws Problem 404 when the conference has no such program
 */
export async function changeProgram(
  pool: pg.Pool,
  acting: PersonActing,
  programId: string,
  expected: Expected,
  work: (client: Queryable, program: Program) => Promise<Done>,
): Promise<void> {
  const { conferenceId, personId } = acting;
  await inTransaction(pool, async (client) => {
    const program = await readProgram(client, conferenceId, programId, 'lock');
    for (const [which, seen] of Object.entries(expected))
      if (seen !== undefined && program[which as keyof Expected] !== seen)
        throw await changedSince(client, acting, program);
    const done = await work(client, program);
    if (!done) return;
    const { raises } = done;
    const goesOn =
      done.goesOn === true &&
      program.canUndo &&
      program.lastChange === done.said &&
      program.changedBy === personId &&
      Date.now() - Date.parse(program.changedAt) < oneSitting;
    await client.query(
      `UPDATE training_program SET version = version + 1, frame_version = frame_version + $3,
              order_version = order_version + $4, last_change = $5, changed_by = $6, changed_at = now(),
              before_last = CASE WHEN $8 THEN before_last ELSE $7 END
        WHERE conference_id = $1 AND id = $2`,
      [
        conferenceId,
        programId,
        raises === 'frame' || raises === 'all' ? 1 : 0,
        raises === 'order' || raises === 'all' ? 1 : 0,
        done.said,
        personId,
        JSON.stringify({
          ...{ said: program.lastChange, frame: frameOf(program), plays: program.plays },
          cuts: done.cuts ?? [],
        }),
        goesOn,
      ],
    );
    await appendAudit(client, {
      conferenceId,
      actorId: personId,
      action: `training program: ${done.said}`.slice(0, 100),
      subjectKind: 'training_program',
      subjectId: programId,
      before: done.before,
      after: done.after,
    });
  });
}

/** Who was faster, with what; said so that the person knows what to do. */
export async function changedSince(client: Queryable, { conferenceId }: PersonActing, program: Program) {
  const { rows } = await client.query<{ name: string | null; zone: string }>(
    `SELECT p.given_name || ' ' || p.family_name AS name, c.time_zone AS zone
       FROM conference c LEFT JOIN person p ON p.conference_id = c.id AND p.id = $2 WHERE c.id = $1`,
    [conferenceId, program.changedBy],
  );
  const { name, zone } = rows[0]!;
  return conflict(
    `${name ?? 'Somebody'} changed this program on ${moment(program.changedAt, zone)}: ${program.lastChange}. Your change was not kept, and nothing of theirs was lost: look at the program as it is now, then make your change again.`,
  );
}
