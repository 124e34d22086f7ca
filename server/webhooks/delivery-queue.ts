import type pg from 'pg';
import { appendAudit } from '../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import type { WebhookResult } from '../metrics/metrics.ts';
import { type Facts, type SentEvent, testEvent } from './events.ts';
import { mostTries, secondsUntilNextTry } from './next-try.ts';
import { longestPost, type Outcome } from './post.ts';

/** A delivery that this process has in hand: nobody else sends it, nor another to its address, until `leaseSeconds` have passed. */
interface Claimed {
  readonly conferenceId: string;
  readonly id: string;
  readonly webhookId: string;
  readonly event: SentEvent;
  readonly facts: Facts;
  readonly happenedAt: Date;
  /** Tries with this one. */
  readonly attempts: number;
  readonly address: string;
  /** The newest first; the one before as long as it signs. */
  readonly secrets: readonly string[];
}

/** Sending is given up long before, so only a process that died has its deliveries taken over. */
const leaseSeconds = 3 * longestPost;

/** So many addresses of one conference at once, fewer than a process has lanes: where none answers, others go on. */
const mostOfConference = 2;

type Receiver = Pick<Claimed, 'conferenceId' | 'webhookId' | 'address' | 'secrets'>;

/**
 * Takes the delivery that is due next, of an address that has none in hand: a receiver that is slow keeps no other
 * waiting. Held by a lease and not by a lock, so that no row, and no connection, is kept meanwhile.
 * @returns nothing when nothing is due; null when another process was faster.
 */
export async function claimNext(pool: pg.Pool): Promise<Claimed | null | undefined> {
  return inTransaction(pool, async (client) => {
    // One after the other, so that what another has just taken is seen.
    await client.query("SELECT pg_advisory_xact_lock(hashtextextended('webhooks', 0))");
    const { rows: receivers } = await client.query<Receiver>(
      `SELECT w.conference_id AS "conferenceId", w.id AS "webhookId", w.address,
              array_remove(ARRAY[w.secret, CASE WHEN w.earlier_until > now() THEN w.earlier_secret END], NULL) AS secrets
         FROM webhook_delivery d
         JOIN webhook w ON w.conference_id = d.conference_id AND w.id = d.webhook_id
        WHERE d.state = 'waiting' AND d.next_attempt <= now() AND w.paused_at IS NULL
          AND (w.in_hand_until IS NULL OR w.in_hand_until <= now())
          AND (SELECT count(*) FROM webhook o
                WHERE o.conference_id = w.conference_id AND o.in_hand_until > now()) < $1
        ORDER BY d.next_attempt, d.id LIMIT 1 FOR NO KEY UPDATE OF w SKIP LOCKED`,
      [mostOfConference],
    );
    const receiver = receivers[0];
    if (!receiver) return undefined;
    const { conferenceId, webhookId } = receiver;
    const { rows } = await client.query<Omit<Claimed, keyof Receiver>>(
      `UPDATE webhook_delivery SET attempts = attempts + 1, tried_at = now(),
              next_attempt = now() + make_interval(secs => $3)
        WHERE conference_id = $1 AND state = 'waiting' AND id = (
          SELECT id FROM webhook_delivery
           WHERE conference_id = $1 AND webhook_id = $2 AND state = 'waiting' AND next_attempt <= now()
           ORDER BY next_attempt, happened_at, id LIMIT 1)
        RETURNING id, event, facts, happened_at AS "happenedAt", attempts`,
      [conferenceId, webhookId, leaseSeconds],
    );
    if (!rows[0]) return null;
    await client.query(
      `UPDATE webhook SET in_hand_until = now() + make_interval(secs => $3) WHERE conference_id = $1 AND id = $2`,
      [conferenceId, webhookId, leaseSeconds],
    );
    return { ...receiver, ...rows[0] };
  });
}

/** A test tells at once whether the address takes it; nobody waits three days for that. */
const triesOf = (event: SentEvent): number => (event === testEvent ? 1 : mostTries);

/**
 * Notes how sending ended, and when it is tried again, if ever. An address that says it is gone (410) is paused, and
 * what waits for it stays until it goes on.
 * @returns null when it is no longer this process's: it was removed, or the lease ran out.
 */
export async function settle(
  pool: pg.Pool,
  claimed: Claimed,
  outcome: Outcome,
  chance = Math.random(),
): Promise<WebhookResult | null> {
  const { conferenceId, id, webhookId, attempts, event } = claimed;
  const { status, error, answer, retryAfter } = outcome;
  const seconds = secondsUntilNextTry(attempts, triesOf(event), chance, retryAfter);
  const result: WebhookResult =
    error === null
      ? 'delivered'
      : status === 410 && event !== testEvent
        ? 'gone'
        : seconds === null
          ? 'given up'
          : 'tried again';
  const state = result === 'delivered' || result === 'given up' ? result : 'waiting';
  return inTransaction(pool, async (client) => {
    const { rows: receivers } = await client.query<{ paused: boolean }>(
      `SELECT paused_at IS NOT NULL AS paused FROM webhook WHERE conference_id = $1 AND id = $2 FOR NO KEY UPDATE`,
      [conferenceId, webhookId],
    );
    const { rowCount } = await client.query(
      `UPDATE webhook_delivery SET state = $4, status = $5, error = $6, answer = $7,
              next_attempt = now() + make_interval(secs => $8),
              settled_at = CASE WHEN $4 = 'waiting' THEN NULL ELSE now() END
        WHERE conference_id = $1 AND id = $2 AND state = 'waiting' AND attempts = $3`,
      [conferenceId, id, attempts, state, status, error, answer, result === 'gone' ? 0 : (seconds ?? 0)],
    );
    if (rowCount !== 1) return null;
    await client.query('UPDATE webhook SET in_hand_until = NULL WHERE conference_id = $1 AND id = $2', [
      conferenceId,
      webhookId,
    ]);
    if (result === 'gone' && !receivers[0]!.paused) await pauseAsGone(client, claimed);
    return result;
  });
}

async function pauseAsGone(client: Queryable, { conferenceId, webhookId }: Claimed): Promise<void> {
  await client.query(
    `UPDATE webhook SET paused_at = now(), paused_because = 'gone' WHERE conference_id = $1 AND id = $2`,
    [conferenceId, webhookId],
  );
  await appendAudit(client, {
    ...{ conferenceId, actorId: null, action: 'paused a webhook' },
    ...{ subjectKind: 'webhook', subjectId: webhookId, reason: 'It answered 410, gone.' },
  });
}
