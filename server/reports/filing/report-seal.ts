import { createHash } from 'node:crypto';
import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { canonicalJson } from '../../accounts/audit/canonical-json.ts';
import type { Queryable } from '../../database/transaction.ts';

/** What the audit trail holds of a filed report besides its state: a digest of each mark and of the general comment. */
export interface Seal {
  readonly comment: string;
  /** By the mark's id. */
  readonly marks: Readonly<Record<string, string>>;
}

const digest = (value: unknown) =>
  createHash('sha256').update(canonicalJson(value)).digest('hex').slice(0, 32);

/** The seal of what a report says now. */
export async function sealNow(db: Queryable, conferenceId: string, reportId: string): Promise<Seal> {
  const { rows } = await db.query<{ id: string; said: unknown[] }>({
    name: 'seal-marks',
    text: `SELECT id, jsonb_build_array(play_id, person_id, position, duty_key, finding, consequence, comment) AS said
             FROM observation WHERE conference_id = $1 AND report_id = $2 AND removed_at IS NULL ORDER BY id`,
    values: [conferenceId, reportId],
  });
  const general = await db.query<{ comment: string }>({
    name: 'seal-comment',
    text: 'SELECT general_comment AS comment FROM report WHERE conference_id = $1 AND id = $2',
    values: [conferenceId, reportId],
  });
  return {
    comment: digest(general.rows[0]?.comment ?? ''),
    marks: Object.fromEntries(rows.map(({ id, said }) => [id, digest(said)])),
  };
}

/** The seal that the trail holds last of a report; null when it holds none. */
async function lastSeal(db: Queryable, conferenceId: string, reportId: string): Promise<Seal | null> {
  const { rows } = await db.query<{ sealed: Seal }>(
    `SELECT after->'sealed' AS sealed FROM audit_entry
      WHERE conference_id = $1 AND subject_kind = 'report' AND subject_id = $2 AND jsonb_typeof(after) = 'object'
        AND after ? 'sealed'
      ORDER BY number DESC LIMIT 1`,
    [conferenceId, reportId],
  );
  return rows[0]?.sealed ?? null;
}

/**
 * The seal after a change of these marks. What the trail says of all others stays, so that a change of one of them
 * behind its back is not taken for true by the next change of another.
 */
export async function sealAfter(
  db: Queryable,
  conferenceId: string,
  reportId: string,
  changed: { marks: readonly string[]; comment?: boolean },
): Promise<Seal> {
  const now = await sealNow(db, conferenceId, reportId);
  const before = await lastSeal(db, conferenceId, reportId);
  if (before === null) return now;
  const marks: Record<string, string> = { ...before.marks };
  for (const id of changed.marks) {
    const said = now.marks[id];
    if (said === undefined) delete marks[id];
    else marks[id] = said;
  }
  return { comment: changed.comment ? now.comment : before.comment, marks };
}

/** Notes what a report says after a change that the trail tells elsewhere, such as the removal of a play. */
export async function noteSeal(
  client: Queryable,
  acting: Pick<Acting, 'conferenceId' | 'personId'>,
  reportId: string,
  marks: readonly string[],
  { comment = false }: { comment?: boolean } = {},
): Promise<void> {
  await appendAudit(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    action: 'marks noted',
    subjectKind: 'report',
    subjectId: reportId,
    after: { sealed: await sealAfter(client, acting.conferenceId, reportId, { marks, comment }) },
  });
}
