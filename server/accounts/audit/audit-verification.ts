import type pg from 'pg';
import QueryStream from 'pg-query-stream';
import type { Queryable } from '../../database/transaction.ts';
import { type AuditContent, auditHash, contentDigest, leftDigest } from './audit.ts';

/** The newest entry of a conference's trail. Kept elsewhere, it later proves that nothing up to it was changed. */
export type AuditHead = { number: number; hash: string };

type AuditFinding = {
  /** Entries read. */
  entries: number;
  head: AuditHead | null;
  /** What is wrong, first to last; empty when the chain holds. */
  faults: string[];
};

/** Columns of an entry that its hash covers as they are. */
export type FixedColumns = {
  number: string;
  at: Date;
  actor_id: string | null;
  action: string;
  subject_kind: string;
  subject_id: string;
  previous_hash: string;
  token: { id: string; name: string } | null;
};

type Row = AuditContent &
  FixedColumns & {
    hash: string;
    salt: string | null;
    content_digest: string | null;
  };

/**
 * Reads a conference's whole trail and recomputes every hash: a changed, inserted or removed row is named. What the
 * chain by itself cannot show is that its newest rows were removed, or that someone with the database's own password
 * rewrote every hash from some row on; `known`, heads noted earlier and kept elsewhere, show both.
 *
 * Words that an erasure took away are known by the entry of that erasure, which tells what was left of which entries.
 */
export async function verifyAudit(
  client: pg.Client | pg.PoolClient,
  conferenceId: string,
  known: readonly AuditHead[] = [],
): Promise<AuditFinding> {
  const faults: string[] = [];
  let entries = 0;
  let head: AuditHead | null = null;
  const noted = new Map<number, Set<string>>();
  for (const { number, hash } of known) noted.set(number, (noted.get(number) ?? new Set()).add(hash));
  const left = await whatWasLeft(client, conferenceId);
  const rows = client.query(
    new QueryStream(
      `SELECT number, at, actor_id, action, subject_kind, subject_id, reason, before, after, previous_hash, hash,
              salt, content_digest, token
         FROM audit_entry WHERE conference_id = $1 ORDER BY number`,
      [conferenceId],
    ),
  );
  for await (const read of rows) {
    const row = read as Row;
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
    if (!isAsWritten(conferenceId, row, left.get(number))) {
      faults.push(`entry ${number} (${row.action} ${row.subject_kind} ${row.subject_id}) was changed`);
    }
    const hashes = noted.get(number);
    if (hashes !== undefined && (hashes.size > 1 || !hashes.has(row.hash))) {
      faults.push(`entry ${number} is not the one noted earlier: the trail was rewritten up to it`);
    }
    noted.delete(number);
    head = { number, hash: row.hash };
  }
  for (const number of [...noted.keys()].sort((one, other) => one - other)) {
    if (number > (head?.number ?? 0)) {
      faults.push(`entry ${number}, noted earlier, is gone: the newest entries were removed`);
    }
  }
  return { entries, head, faults };
}

/** Whether a row is what its hash was made of, or what an erasure left of that. */
function isAsWritten(conferenceId: string, row: Row, left: string | undefined): boolean {
  const content = { reason: row.reason, before: row.before, after: row.after };
  const fixed = fixedOf(conferenceId, row);
  if (row.content_digest === null) {
    // Of before there were digests: once words are gone, only what tells of them and the chain hold the rest.
    return auditHash({ ...fixed, ...content }) === row.hash || leftOfOld(fixed, content, row.hash) === left;
  }
  if (auditHash({ ...fixed, contentDigest: row.content_digest }) !== row.hash) return false;
  if (row.salt !== null) return contentDigest(row.salt, content) === row.content_digest;
  return left !== undefined && leftDigest(content) === left;
}

/** What a row's hash covers beside its words. */
export const fixedOf = (conferenceId: string, row: FixedColumns) => ({
  conferenceId,
  number: Number(row.number),
  at: row.at.toISOString(),
  actorId: row.actor_id,
  action: row.action,
  subjectKind: row.subject_kind,
  subjectId: row.subject_id,
  previousHash: row.previous_hash,
  token: row.token ?? undefined,
});

/** For an entry whose hash covers its words: what is left of it, with all the rest of the row. */
export const leftOfOld = (fixed: object, content: AuditContent, hash: string) =>
  leftDigest({ ...content, before: { fixed, hash, before: content.before } });

/** By entry: the digest of what the last erasure of its words left. */
async function whatWasLeft(db: Queryable, conferenceId: string): Promise<ReadonlyMap<number, string>> {
  const { rows } = await db.query<{ number: number; digest: string }>(
    `SELECT w.key::int AS number, w.value AS digest
       FROM audit_entry e CROSS JOIN LATERAL jsonb_each_text(e.after->'wordsTakenAway') w
      WHERE e.conference_id = $1 AND jsonb_typeof(e.after->'wordsTakenAway') = 'object' ORDER BY e.number`,
    [conferenceId],
  );
  return new Map(rows.map(({ number, digest }) => [number, digest]));
}

type Conference = { id: string; slug: string; name: string };

export async function conferences(db: Queryable): Promise<Conference[]> {
  const { rows } = await db.query<Conference>('SELECT id, slug, name FROM conference ORDER BY slug');
  return rows;
}
