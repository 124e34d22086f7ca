import type pg from 'pg';
import QueryStream from 'pg-query-stream';
import type { Queryable } from '../../database/transaction.ts';
import { auditHash } from './audit.ts';

/** The newest entry of a conference's trail. Kept elsewhere, it later proves that nothing up to it was changed. */
export type AuditHead = { number: number; hash: string };

type AuditFinding = {
  /** Entries read. */
  entries: number;
  head: AuditHead | null;
  /** What is wrong, first to last; empty when the chain holds. */
  faults: string[];
};

/**
 * Reads a conference's whole trail and recomputes every hash: a changed, inserted or removed row is named. What the
 * chain by itself cannot show is that its newest rows were removed, or that someone with the database's own password
 * rewrote every hash from some row on; `known`, a head noted earlier and kept elsewhere, shows both.
 */
export async function verifyAudit(
  client: pg.Client | pg.PoolClient,
  conferenceId: string,
  known: AuditHead[] = [],
): Promise<AuditFinding> {
  const faults: string[] = [];
  let entries = 0;
  let head: AuditHead | null = null;
  const unseen = new Map(known.map((each) => [each.number, each.hash]));
  const rows = client.query(
    new QueryStream(
      `SELECT number, at, actor_id, action, subject_kind, subject_id, reason, before, after, previous_hash, hash, token
         FROM audit_entry WHERE conference_id = $1 ORDER BY number`,
      [conferenceId],
    ),
  );
  for await (const row of rows) {
    const number = Number(row.number);
    const expected: number = (head?.number ?? 0) + 1;
    entries++;
    if (number !== expected) {
      faults.push(
        number === expected + 1
          ? `entry ${expected} is missing`
          : `entries ${expected} to ${number - 1} are missing`,
      );
    } else if (row.previous_hash !== (head?.hash ?? '')) {
      faults.push(`entry ${number} does not follow entry ${number - 1}: one of the two was replaced`);
    }
    const hash = auditHash({
      conferenceId,
      number,
      at: row.at.toISOString(),
      actorId: row.actor_id,
      action: row.action,
      subjectKind: row.subject_kind,
      subjectId: row.subject_id,
      reason: row.reason,
      before: row.before,
      after: row.after,
      previousHash: row.previous_hash,
      token: row.token ?? undefined,
    });
    if (hash !== row.hash) {
      faults.push(`entry ${number} (${row.action} ${row.subject_kind} ${row.subject_id}) was changed`);
    }
    const noted = unseen.get(number);
    if (noted !== undefined && noted !== row.hash) {
      faults.push(`entry ${number} is not the one noted earlier: the trail was rewritten up to it`);
    }
    unseen.delete(number);
    head = { number, hash: row.hash };
  }
  for (const number of [...unseen.keys()].sort((one, other) => one - other)) {
    if (number > (head?.number ?? 0)) {
      faults.push(`entry ${number}, noted earlier, is gone: the newest entries were removed`);
    }
  }
  return { entries, head, faults };
}

type Conference = { id: string; slug: string; name: string };

export async function conferences(db: Queryable): Promise<Conference[]> {
  const { rows } = await db.query<Conference>('SELECT id, slug, name FROM conference ORDER BY slug');
  return rows;
}
