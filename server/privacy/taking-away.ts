import type { Acting } from '../accounts/acting.ts';
import { type AuditContent, leftDigest } from '../accounts/audit/audit.ts';
import { type FixedColumns, fixedOf, leftOfOld } from '../accounts/audit/audit-verification.ts';
import { canonicalJson } from '../accounts/audit/canonical-json.ts';
import type { Queryable } from '../database/transaction.ts';
import { noteSeal } from '../reports/filing/report-seal.ts';
import { handedInStates } from '../schedule/open-states.ts';

/**
 * Lets this transaction take words away that are otherwise final. A conference's are taken by one transaction after the
 * other: each reads entries and revisions whole and writes them back.
 */
export async function beginTakingAway(client: Queryable, conferenceId: string): Promise<void> {
  await client.query(`SELECT set_config('crewmark.taking_away', 'on', true)`);
  await client.query(`SELECT pg_advisory_xact_lock(hashtextextended('taking away ' || $1, 0))`, [
    conferenceId,
  ]);
}

/** By id: marks, and reports' general comments, whose words are other than the trail has noted. */
export interface Changed {
  readonly marks: Set<string>;
  readonly reports: Set<string>;
}

/** Notes in the trail what filed reports say now, of the marks and general comments that were changed. */
export async function noteChanged(
  client: Queryable,
  acting: Acting,
  { marks, reports }: Changed,
): Promise<void> {
  const { rows } = await client.query<{ id: string; marks: string[] | null }>(
    `SELECT r.id, array_agg(o.id::text) FILTER (WHERE o.id IS NOT NULL) AS marks
       FROM report r
       LEFT JOIN observation o ON o.conference_id = r.conference_id AND o.report_id = r.id AND o.id = ANY ($2::uuid[])
      WHERE r.conference_id = $1 AND r.state IN ${handedInStates}
        AND (o.id IS NOT NULL OR r.id = ANY ($3::uuid[]))
      GROUP BY r.id ORDER BY r.id`,
    [acting.conferenceId, [...marks], [...reports]],
  );
  for (const { id, marks: ofReport } of rows) {
    await noteSeal(client, acting, id, ofReport ?? [], { comment: reports.has(id) });
  }
}

/** Changes earlier revisions and what devices sent, of these reports or of all. */
export async function rewriteHistory(
  client: Queryable,
  conferenceId: string,
  change: <Value>(value: Value) => Value,
  reports: ReadonlySet<string> | null = null,
): Promise<void> {
  const which = [conferenceId, reports && [...reports]];
  const revisions = await client.query<{
    report: string;
    revision: number;
    reason: string;
    content: unknown;
  }>(
    `SELECT report_id AS report, revision, reason, content FROM report_revision
      WHERE conference_id = $1 AND ($2::uuid[] IS NULL OR report_id = ANY ($2))`,
    which,
  );
  for (const { report, revision, ...before } of revisions.rows) {
    const after = change(before);
    if (canonicalJson(after) === canonicalJson(before)) continue;
    await client.query('SELECT take_away_words_of_revision($1, $2, $3, $4, $5)', [
      ...[conferenceId, report, revision, after.reason, JSON.stringify(after.content)],
    ]);
  }
  const changes = await client.query<{ report: string; id: string; content: unknown; theirs: unknown }>(
    `SELECT report_id AS report, id, content, theirs FROM report_change
      WHERE conference_id = $1 AND ($2::uuid[] IS NULL OR report_id = ANY ($2))`,
    which,
  );
  for (const { report, id, ...before } of changes.rows) {
    const after = change(before);
    if (canonicalJson(after) === canonicalJson(before)) continue;
    await client.query('SELECT take_away_words_of_change($1, $2, $3, $4, $5)', [
      ...[conferenceId, report, id, JSON.stringify(after.content)],
      after.theirs === null ? null : JSON.stringify(after.theirs),
    ]);
  }
}

export type TrailRow = AuditContent & FixedColumns & { hash: string; content_digest: string | null };

/**
 * Takes words out of the audit trail's entries. The chain holds digests, so it goes on holding.
 * @param leftOf what stays of an entry's content; `keepSeal` on the newest one that holds the digests of a report
 * @returns by entry the digest of what is left, which a later entry has to tell as `wordsTakenAway`
 */
export async function rewriteTrail(
  client: Queryable,
  conferenceId: string,
  leftOf: (row: TrailRow, content: AuditContent, keepSeal: boolean) => AuditContent,
): Promise<Record<string, string>> {
  await client.query('SELECT FROM lock_audit_trail($1)', [conferenceId]);
  const { rows } = await client.query<TrailRow>(
    `SELECT number, at, actor_id, action, subject_kind, subject_id, reason, before, after, previous_hash, hash,
            content_digest, token FROM audit_entry WHERE conference_id = $1 ORDER BY number`,
    [conferenceId],
  );
  const latestSeal = new Map<string, string>();
  for (const row of rows) if (hasSeal(row.after)) latestSeal.set(row.subject_id, row.number);
  const taken: Record<string, string> = {};
  for (const row of rows) {
    const before: AuditContent = { reason: row.reason, before: row.before, after: row.after };
    const after = leftOf(row, before, latestSeal.get(row.subject_id) === row.number);
    if (canonicalJson(after) === canonicalJson(before)) continue;
    await client.query('SELECT take_away_words_of_entry($1, $2, $3, $4, $5)', [
      ...[conferenceId, row.number, after.reason],
      ...[after.before, after.after].map((value) => (value === null ? null : JSON.stringify(value))),
    ]);
    taken[row.number] =
      row.content_digest === null
        ? leftOfOld(fixedOf(conferenceId, row), after, row.hash)
        : leftDigest(after);
  }
  return taken;
}

export const hasSeal = (
  after: unknown,
): after is { sealed: { comment: string; marks: Record<string, string> } } =>
  typeof after === 'object' && after !== null && 'sealed' in after;
