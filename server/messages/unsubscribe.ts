import { createHmac, randomBytes, timingSafeEqual } from 'node:crypto';
import type { Queryable } from '../database/transaction.ts';

// A link by which mail is stopped without signing in (RFC 8058). It names its person and is signed with a key of the
// conference, so that nothing has to be kept of it and it works as long as its person is there.

interface Whose {
  readonly conferenceId: string;
  readonly personId: string;
}

/** @returns the link's token, 86 characters that are safe in an address */
export async function stopToken(db: Queryable, whose: Whose): Promise<string> {
  const bytes = Buffer.concat([bytesOf(whose.conferenceId), bytesOf(whose.personId)]);
  return Buffer.concat([bytes, signature(await keyOf(db, whose.conferenceId), bytes)]).toString('base64url');
}

/** Whose token it is; null when it is none. */
export async function readStopToken(db: Queryable, token: string): Promise<Whose | null> {
  const given = Buffer.from(token, 'base64url');
  if (given.length !== 64) return null;
  const bytes = given.subarray(0, 32);
  const whose = { conferenceId: idOf(bytes.subarray(0, 16)), personId: idOf(bytes.subarray(16)) };
  const { rows } = await db.query<{ key: string }>('SELECT key FROM mail_key WHERE conference_id = $1', [
    whose.conferenceId,
  ]);
  const key = rows[0]?.key;
  return key !== undefined && timingSafeEqual(signature(key, bytes), given.subarray(32)) ? whose : null;
}

const signature = (key: string, bytes: Buffer) => createHmac('sha256', key).update(bytes).digest();

async function keyOf(db: Queryable, conferenceId: string): Promise<string> {
  const { rows } = await db.query<{ key: string }>(
    `WITH made AS (
       INSERT INTO mail_key (conference_id, key) VALUES ($1, $2) ON CONFLICT (conference_id) DO NOTHING RETURNING key)
     SELECT key FROM made UNION ALL SELECT key FROM mail_key WHERE conference_id = $1`,
    [conferenceId, randomBytes(32).toString('base64url')],
  );
  // None: two made the first at once, and the other's is there now.
  return rows[0]?.key ?? keyOf(db, conferenceId);
}

const bytesOf = (uuid: string) => Buffer.from(uuid.replaceAll('-', ''), 'hex');
const idOf = (bytes: Buffer) =>
  bytes.toString('hex').replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
