import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { mailFailure, retryAfterMinutes } from '../mail/failure.ts';
import { longestSend } from '../mail/mailer.ts';
import { digestHour, isMust, type Kind, type Wanted } from './kinds.ts';

/** A message that this process has in hand: nobody else sends it until `leaseMinutes` have passed. */
export interface Claimed {
  readonly conferenceId: string;
  readonly id: string;
  readonly personId: string;
  readonly kind: Kind;
  readonly aboutId: string | null;
  readonly facts: Readonly<Record<string, unknown>>;
  /** Tries with this one. */
  readonly attempts: number;
  readonly digest: boolean;
  readonly name: string;
  readonly email: string;
  readonly conference: string;
  readonly timeZone: string;
}

/** Sending is given up long before, so only a process that died has its messages taken over. */
const leaseMinutes = (3 * longestSend) / 60;

/** A link that somebody waits for is not tried for a day: they will have asked again. */
const triesOf = (kind: Kind): number | undefined => (kind === 'password link' ? 4 : undefined);

type Due = Claimed & {
  readonly active: boolean;
  readonly wanted: Wanted;
  readonly refused: string | null;
  readonly digestAt: Date;
};

const columns = `
  m.conference_id AS "conferenceId", m.id, m.person_id AS "personId", m.kind, m.about_id AS "aboutId", m.facts,
  m.attempts + 1 AS attempts, m.digest, p.given_name || ' ' || p.family_name AS name, p.email, c.name AS conference,
  c.time_zone AS "timeZone", p.active, p.mail_wanted AS wanted, p.mail_refused_because AS refused`;
const tables = `
  message m
  JOIN person p ON p.conference_id = m.conference_id AND p.id = m.person_id
  JOIN conference c ON c.id = m.conference_id`;
const isDue = `m.mail = 'waiting' AND m.next_attempt <= now()`;

/**
 * Takes what is due next: one message, or all of somebody's daily mail. Held by a lease and not by a lock, so that a
 * mail server that is slow keeps no row, and no connection, from anybody.
 * @returns nothing when nothing is due; an empty list when the next one was settled without a mail.
 */
export async function claimNext(pool: pg.Pool): Promise<readonly Claimed[] | undefined> {
  return inTransaction(pool, async (client) => {
    // One process after the other, so that a day's mail is not split among two. It takes milliseconds.
    await client.query("SELECT pg_advisory_xact_lock(hashtextextended('outbox', 0))");
    const { rows } = await client.query<Due>({
      name: 'next-message',
      text: `SELECT ${columns},
                    ((now() AT TIME ZONE c.time_zone)::date + make_time($1, 0, 0)
                      + CASE WHEN (now() AT TIME ZONE c.time_zone)::time < make_time($1, 0, 0)
                             THEN interval '0' ELSE interval '1 day' END) AT TIME ZONE c.time_zone AS "digestAt"
               FROM ${tables} WHERE ${isDue}
              ORDER BY m.kind IN ('invitation', 'password link', 'second factor', 'withdrawal') DESC, m.next_attempt, m.id
              LIMIT 1 FOR UPDATE OF m SKIP LOCKED`,
      values: [digestHour],
    });
    const due = rows[0];
    if (!due) return undefined;
    const must = isMust(due.kind);
    if (!due.active) return settled(notMailed(client, due, 'overtaken'));
    // What must be told is tried all the same: a mailbox may be open again.
    if (due.refused !== null && !must) return settled(notMailed(client, due, 'address refused'));
    if (!must && due.wanted === 'none') return settled(notMailed(client, due, 'not wanted'));
    if (!must && due.wanted === 'daily' && !due.digest)
      return settled(
        client.query(
          'UPDATE message SET digest = true, next_attempt = $3 WHERE conference_id = $1 AND id = $2',
          [due.conferenceId, due.id, due.digestAt],
        ),
      );
    const all = due.digest ? await restOfTheDay(client, due) : [due];
    await client.query(
      `UPDATE message SET attempts = attempts + 1, next_attempt = now() + make_interval(mins => $3)
        WHERE conference_id = $1 AND id = ANY ($2)`,
      [due.conferenceId, all.map(({ id }) => id), leaseMinutes],
    );
    return all;
  });
}

const settled = async (work: Promise<unknown>): Promise<readonly Claimed[]> => {
  await work;
  return [];
};

async function restOfTheDay(client: Queryable, { conferenceId, personId }: Due): Promise<Claimed[]> {
  const { rows } = await client.query<Claimed>(
    `SELECT ${columns} FROM ${tables}
      WHERE ${isDue} AND m.digest AND m.conference_id = $1 AND m.person_id = $2
      ORDER BY m.happened_at, m.id LIMIT 100 FOR UPDATE OF m SKIP LOCKED`,
    [conferenceId, personId],
  );
  return rows;
}

type NotMailed = 'not wanted' | 'overtaken' | 'address refused';

/** It stays on the desk. */
export const notMailed = (client: Queryable, { conferenceId, id }: Claimed, because: NotMailed) =>
  client.query(
    `UPDATE message SET mail = 'not mailed', not_mailed_because = $3
      WHERE conference_id = $1 AND id = $2 AND mail = 'waiting'`,
    [conferenceId, id, because],
  );

/**
 * Notes a message as sent.
 * @returns false when it is no longer this process's: somebody cancelled it, or the lease ran out.
 */
export async function noteSent(client: Queryable, message: Claimed): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE message SET mail = 'sent', sent_at = now(), last_error = NULL
      WHERE conference_id = $1 AND id = $2 AND mail = 'waiting' AND attempts = $3`,
    [message.conferenceId, message.id, message.attempts],
  );
  return rowCount === 1;
}

/** Notes why the messages of one mail were not taken, and when they are tried again, if ever. */
export async function noteFailure(
  pool: pg.Pool,
  messages: readonly Claimed[],
  error: unknown,
): Promise<boolean> {
  const { because, lasting, addressRefused } = mailFailure(error);
  const again = messages.some(
    ({ attempts, kind }) => !lasting && retryAfterMinutes(attempts, triesOf(kind)) !== null,
  );
  await inTransaction(pool, async (client) => {
    for (const { conferenceId, id, kind, attempts } of messages)
      await client.query(
        `UPDATE message SET last_error = $4,
                mail = CASE WHEN $5::int IS NULL THEN 'failed' ELSE 'waiting' END,
                next_attempt = now() + make_interval(mins => coalesce($5::int, 0))
          WHERE conference_id = $1 AND id = $2 AND mail = 'waiting' AND attempts = $3`,
        [conferenceId, id, attempts, because, lasting ? null : retryAfterMinutes(attempts, triesOf(kind))],
      );
    const [first] = messages;
    if (addressRefused && first)
      await client.query(
        `UPDATE person SET mail_refused_at = now(), mail_refused_because = $4
          WHERE conference_id = $1 AND id = $2 AND email = $3`,
        [first.conferenceId, first.personId, first.email, because],
      );
  });
  return again;
}

/** Without a mail server messages are for the desk alone; one set up later does not send what is long known. */
export async function leaveOnDesks(pool: pg.Pool): Promise<void> {
  await pool.query(
    `UPDATE message SET mail = 'not mailed', not_mailed_because = 'no mail server' WHERE mail = 'waiting'`,
  );
}
