import { createHash, randomBytes } from 'node:crypto';
import type { Queryable } from '../../database/transaction.ts';
import { tokenOf } from '../api-token/token-in-use.ts';
import { canonicalJson } from './canonical-json.ts';

/** What is to be remembered of one act. `before` and `after` are plain JSON: the state it changed, or a part of it. */
type AuditEvent = {
  conferenceId: string;
  /** The person who acted; null when the program itself did. */
  actorId: string | null;
  /** A verb in the past tense: "released", "invited", "roles changed". */
  action: string;
  /** The kind of the thing acted on, as its table is named: "report", "person", "letter". */
  subjectKind: string;
  subjectId: string;
  reason?: string | null;
  before?: unknown;
  after?: unknown;
};

/** What people wrote, or what their values were: the part of an entry that can be taken away later. */
export type AuditContent = { reason: string | null; before: unknown; after: unknown };

/** What an entry's hash covers: all of the row, its content by a digest, and by the previous hash all rows before it. */
type AuditEntry = {
  conferenceId: string;
  number: number;
  at: string;
  actorId: string | null;
  action: string;
  subjectKind: string;
  subjectId: string;
  previousHash: string;
  /** The token by which the person acted; left out, and so not in the hash, when they acted themselves. */
  token?: { id: string; name: string } | undefined;
} & ({ contentDigest: string } | AuditContent);

const sha256 = (text: string) => createHash('sha256').update(text).digest('hex');

/** SHA-256 over the entry's canonical JSON, in hex. Entries of before had their content in it rather than its digest. */
export const auditHash = (entry: AuditEntry) => sha256(canonicalJson(entry));

/** The salt keeps what was taken away from being guessed by its digest; it goes with the content. */
export const contentDigest = (salt: string, { reason, before, after }: AuditContent) =>
  sha256(`${salt}\n${canonicalJson({ reason, before, after })}`);

/** What the entry that took words away tells of what is left of another: its digest, without salt. */
export const leftDigest = (content: AuditContent) => contentDigest('', content);

/**
 * Adds to the conference's audit trail inside the caller's transaction: the act and its entry are kept together or
 * not at all. `client` must be the `pg` client of that transaction (`inTransaction`), not the pool and not Prisma's.
 *
 * Entries of one conference are numbered without gaps, so the chain is locked from here until the transaction ends:
 * call it late in the transaction. READ COMMITTED only; at a stricter level two writers collide on the number.
 *
 * @returns the entry's number.
 */
export async function appendAudit(client: Queryable, event: AuditEvent): Promise<number> {
  const { rows } = await client.query<{ at: Date; last_number: string | null; last_hash: string | null }>({
    name: 'audit-lock',
    text: 'SELECT at, last_number, last_hash FROM lock_audit_trail($1)',
    values: [event.conferenceId],
  });
  const { at, last_number, last_hash } = rows[0]!;
  const content: AuditContent = {
    reason: event.reason ?? null,
    before: plain(event.before),
    after: plain(event.after),
  };
  const salt = randomBytes(16).toString('hex');
  const entry = {
    conferenceId: event.conferenceId,
    number: Number(last_number ?? 0) + 1,
    at: at.toISOString(),
    actorId: event.actorId,
    action: event.action,
    subjectKind: event.subjectKind,
    subjectId: event.subjectId,
    previousHash: last_hash ?? '',
    token: tokenOf(event.actorId),
    contentDigest: contentDigest(salt, content),
  };
  await client.query({
    name: 'audit-append',
    text: `INSERT INTO audit_entry (conference_id, number, at, actor_id, action, subject_kind, subject_id, reason,
                              before, after, previous_hash, hash, salt, content_digest, token)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)`,
    values: [
      entry.conferenceId,
      entry.number,
      entry.at,
      entry.actorId,
      entry.action,
      entry.subjectKind,
      entry.subjectId,
      content.reason,
      asJson(content.before),
      asJson(content.after),
      entry.previousHash,
      auditHash(entry),
      salt,
      entry.contentDigest,
      asJson(entry.token ?? null),
    ],
  });
  return entry.number;
}

/** The value as the database will give it back: dates as text, undefined gone. */
const plain = (value: unknown): unknown => (value == null ? null : JSON.parse(JSON.stringify(value)));
const asJson = (value: unknown) => (value === null ? null : JSON.stringify(value));
