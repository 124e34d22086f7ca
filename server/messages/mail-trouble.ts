import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import type { Kind } from './kinds.ts';

/** A mail that was not taken: given up, or to be tried again. */
interface TroubledMail {
  readonly id: string;
  readonly kind: Kind;
  readonly aboutId: string | null;
  readonly facts: Readonly<Record<string, unknown>>;
  readonly personId: string;
  readonly name: string;
  readonly email: string;
  readonly happenedAt: Date;
  readonly attempts: number;
  readonly because: string;
  /** Null: it was given up. */
  readonly nextAttempt: Date | null;
}

/** An address that the mail server refused for good. */
interface RefusedAddress {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
  readonly at: Date;
  readonly because: string;
  /** Messages that were left on the desk for it. */
  readonly kept: number;
}

/** Mails that failed and are given up first; then those that are tried again. */
export async function troubledMail(
  db: Queryable,
  conferenceId: string,
  limit: number,
): Promise<readonly TroubledMail[]> {
  const { rows } = await db.query<TroubledMail>(
    `SELECT m.id, m.kind, m.about_id AS "aboutId", m.facts, p.id AS "personId",
            p.given_name || ' ' || p.family_name AS name, p.email, m.happened_at AS "happenedAt", m.attempts,
            m.last_error AS because, CASE WHEN m.mail = 'waiting' THEN m.next_attempt END AS "nextAttempt"
       FROM message m JOIN person p ON p.conference_id = m.conference_id AND p.id = m.person_id
      WHERE m.conference_id = $1
        AND (m.mail = 'failed' OR m.mail = 'waiting' AND m.last_error IS NOT NULL)
      ORDER BY m.mail = 'waiting', m.happened_at, m.id LIMIT $2`,
    [conferenceId, limit],
  );
  return rows;
}

export async function refusedAddresses(
  db: Queryable,
  conferenceId: string,
): Promise<readonly RefusedAddress[]> {
  const { rows } = await db.query<RefusedAddress>(
    `SELECT p.id AS "personId", p.given_name || ' ' || p.family_name AS name, p.email, p.mail_refused_at AS at,
            p.mail_refused_because AS because,
            (SELECT count(*)::int FROM message m
              WHERE m.conference_id = $1 AND m.person_id = p.id AND m.not_mailed_because = 'address refused') AS kept
       FROM person p WHERE p.conference_id = $1 AND p.active AND p.mail_refused_at IS NOT NULL
      ORDER BY p.mail_refused_at`,
    [conferenceId],
  );
  return rows;
}

/**
 * Puts mails that failed, or are to be tried later, in line at once. Addresses that were refused are tried again: who
 * asks for it believes that they are right.
 * @returns how many are in line.
 */
export async function mailAgain(
  pool: pg.Pool,
  conferenceId: string,
  ids: readonly string[],
): Promise<number> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ personId: string }>(
      `UPDATE message SET mail = 'waiting', attempts = 0, next_attempt = now(), digest = false
        WHERE conference_id = $1 AND id = ANY ($2)
          AND (mail = 'failed' OR mail = 'waiting' AND (last_error IS NOT NULL OR attempts = 0))
        RETURNING person_id AS "personId"`,
      [conferenceId, ids],
    );
    await client.query(
      `UPDATE person SET mail_refused_at = NULL, mail_refused_because = NULL
        WHERE conference_id = $1 AND id = ANY ($2) AND mail_refused_at IS NOT NULL`,
      [conferenceId, rows.map(({ personId }) => personId)],
    );
    return rows.length;
  });
}

/** Gives up on mails: they stay on their people's desks. Returns how many. */
export async function letBe(db: Queryable, conferenceId: string, ids: readonly string[]): Promise<number> {
  const { rowCount } = await db.query(
    `UPDATE message SET mail = 'not mailed', not_mailed_because = 'let be'
      WHERE conference_id = $1 AND id = ANY ($2) AND (mail = 'failed' OR mail = 'waiting' AND last_error IS NOT NULL)`,
    [conferenceId, ids],
  );
  return rowCount ?? 0;
}
