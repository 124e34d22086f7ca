import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import { notYours } from '../accounts/refusal.ts';
import type { Queryable } from '../database/transaction.ts';
import { conflict } from '../web/problem.ts';
import { type SentEvent, testEvent } from './events.ts';

export const deliveryStates = ['waiting', 'delivered', 'given up', 'let be'] as const;

interface Delivery {
  readonly id: string;
  readonly event: SentEvent;
  readonly happenedAt: Date;
  readonly state: (typeof deliveryStates)[number];
  /** Tries since it was last put in line. */
  readonly attempts: number;
  readonly triedAt: Date | null;
  /** Null when it is not tried any more. */
  readonly nextTry: Date | null;
  /** Of the last try: the status code answered, what went wrong, the beginning of what was answered then. */
  readonly status: number | null;
  readonly error: string | null;
  readonly answer: string | null;
}

/** Days after which what is settled goes, and what waits for an address that is paused. */
export const daysKept = 30;

/** An address's newest deliveries, those that are given up first. */
export async function listDeliveries(
  db: Queryable,
  conferenceId: string,
  webhookId: string,
  limit: number,
): Promise<Delivery[]> {
  const { rows } = await db.query<Delivery>(
    `SELECT id, event, happened_at AS "happenedAt", state, attempts, tried_at AS "triedAt",
            CASE WHEN state = 'waiting' THEN next_attempt END AS "nextTry", status, error, answer
       FROM webhook_delivery WHERE conference_id = $1 AND webhook_id = $2
      ORDER BY (state = 'given up' AND event <> $4) DESC, happened_at DESC, id LIMIT $3`,
    [conferenceId, webhookId, limit, testEvent],
  );
  return rows;
}

/** Puts a test in line. @throws Problem 404 when there is no such webhook, 409 when it is paused. */
export async function noteTest(
  db: Queryable,
  { conferenceId }: Acting,
  webhookId: string,
): Promise<{ deliveryId: string }> {
  const { rows } = await db.query<{ paused: boolean; deliveryId: string | null }>(
    `WITH noted AS (
       INSERT INTO webhook_delivery (conference_id, webhook_id, event, facts)
       SELECT conference_id, id, $3, '{}' FROM webhook WHERE conference_id = $1 AND id = $2 AND paused_at IS NULL
       RETURNING id)
     SELECT w.paused_at IS NOT NULL AS paused, (SELECT id FROM noted) AS "deliveryId"
       FROM webhook w WHERE w.conference_id = $1 AND w.id = $2`,
    [conferenceId, webhookId, testEvent],
  );
  if (!rows[0]) throw notYours('webhook');
  const { deliveryId } = rows[0];
  if (deliveryId === null) throw conflict('It is paused, and nothing is sent: let it go on first.');
  return { deliveryId };
}

/**
 * Puts a delivery in line at once, with all its tries, whatever became of it; how the try ends that somebody has in hand
 * just now is noted still.
 * @throws Refusal 404
 */
export async function sendAgain(
  db: Queryable,
  { conferenceId }: Acting,
  webhookId: string,
  deliveryId: string,
): Promise<void> {
  const { rowCount } = await db.query(
    `UPDATE webhook_delivery d SET state = 'waiting', next_attempt = now(), settled_at = NULL,
            attempts = CASE WHEN d.state = 'waiting' AND w.in_hand_until > now() THEN d.attempts ELSE 0 END
       FROM webhook w
      WHERE d.conference_id = $1 AND d.webhook_id = $2 AND d.id = $3 AND w.conference_id = $1 AND w.id = $2`,
    [conferenceId, webhookId, deliveryId],
  );
  if (rowCount !== 1) throw notYours('delivery');
}

/** Puts all that were given up in line, or lets them be. @returns how many */
export async function settleGivenUp(
  db: Queryable,
  { conferenceId }: Acting,
  webhookId: string,
  how: 'again' | 'let be',
): Promise<number> {
  const { rowCount } = await db.query(
    how === 'again'
      ? `UPDATE webhook_delivery SET state = 'waiting', attempts = 0, next_attempt = now(), settled_at = NULL
          WHERE conference_id = $1 AND webhook_id = $2 AND state = 'given up' AND event <> $3`
      : `UPDATE webhook_delivery SET state = 'let be', settled_at = now()
          WHERE conference_id = $1 AND webhook_id = $2 AND state = 'given up' AND event <> $3`,
    [conferenceId, webhookId, testEvent],
  );
  return rowCount ?? 0;
}

/**
 * Removes deliveries of long ago, and secrets that no longer sign. What was given up waits for somebody to look.
 * @returns how many deliveries were removed.
 */
export async function removeOldDeliveries(pool: pg.Pool): Promise<number> {
  await pool.query(
    'UPDATE webhook SET earlier_secret = NULL, earlier_until = NULL WHERE earlier_until <= now()',
  );
  const { rowCount } = await pool.query(
    `DELETE FROM webhook_delivery d USING webhook w
      WHERE w.conference_id = d.conference_id AND w.id = d.webhook_id
        AND d.happened_at < now() - make_interval(days => $1)
        AND (d.state IN ('delivered', 'let be') OR d.event = $2 OR d.state = 'waiting' AND w.paused_at IS NOT NULL)`,
    [daysKept, testEvent],
  );
  return rowCount ?? 0;
}
