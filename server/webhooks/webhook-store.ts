import pg from 'pg';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { notYours } from '../accounts/refusal.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { conflict, invalid } from '../web/problem.ts';
import { type EventName, testEvent } from './events.ts';
import { newSecret } from './signature.ts';
import type { WebhookInput } from './webhook-input.ts';

/** An address that is told of a conference's events. Its secret is given out once and not read again. */
export interface Webhook {
  readonly id: string;
  readonly address: string;
  readonly events: EventName[];
  readonly madeBy: string;
  readonly createdAt: Date;
  readonly state: 'works' | 'paused' | 'gone';
  /** Until when the secret before this one signs too; null when it does not. */
  readonly earlierUntil: Date | null;
  /** Deliveries that are to be tried, and those that were given up; tests are not among them. */
  readonly waiting: number;
  readonly givenUp: number;
  readonly lastDelivered: Date | null;
}

/** So that a conference keeps an overview, and each act stays quick. */
const most = 10;
/** For how long a replaced secret signs beside the new one. */
export const daysOfEarlier = 3;

const select = `
  SELECT w.id, w.address, w.events, p.given_name || ' ' || p.family_name AS "madeBy", w.created_at AS "createdAt",
         CASE w.paused_because WHEN 'gone' THEN 'gone' WHEN 'by hand' THEN 'paused' ELSE 'works' END AS state,
         CASE WHEN w.earlier_until > now() THEN w.earlier_until END AS "earlierUntil",
         d.waiting, d."givenUp", d."lastDelivered"
    FROM webhook w
    JOIN person p ON p.conference_id = w.conference_id AND p.id = w.created_by
   CROSS JOIN LATERAL (
     SELECT count(*) FILTER (WHERE state = 'waiting' AND event <> '${testEvent}')::int AS waiting,
            count(*) FILTER (WHERE state = 'given up' AND event <> '${testEvent}')::int AS "givenUp",
            max(settled_at) FILTER (WHERE state = 'delivered') AS "lastDelivered"
       FROM webhook_delivery WHERE conference_id = w.conference_id AND webhook_id = w.id) d
   WHERE w.conference_id = $1`;

export async function listWebhooks(db: Queryable, conferenceId: string): Promise<Webhook[]> {
  const { rows } = await db.query<Webhook>(`${select} ORDER BY w.created_at, w.id`, [conferenceId]);
  return rows;
}

/** @throws Refusal 404 when the conference has no such webhook. */
export async function findWebhook(db: Queryable, conferenceId: string, webhookId: string): Promise<Webhook> {
  const { rows } = await db.query<Webhook>(`${select} AND w.id = $2`, [conferenceId, webhookId]);
  if (!rows[0]) throw notYours('webhook');
  return rows[0];
}

/** As the trail tells of it: what follows a question mark may be a key. */
const inTrail = ({ address, events }: Pick<Webhook, 'address' | 'events'>) => ({
  address: address.split('?')[0],
  events,
});

const note = (client: Queryable, actor: PersonActing, action: string, subjectId: string, more: object = {}) =>
  appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action,
    subjectKind: 'webhook',
    subjectId,
    ...more,
  });

const taken = () => invalid([{ field: 'address', message: 'This address is in the list; change it there.' }]);

/** @throws Problem 400 where another webhook of the conference has the address. */
async function refusingTaken<Result>(work: Promise<Result>): Promise<Result> {
  try {
    return await work;
  } catch (error) {
    if (error instanceof pg.DatabaseError && error.constraint === 'webhook_address') throw taken();
    throw error;
  }
}

/**
 * Adds an address.
 * @returns it with its secret, which cannot be shown again.
 * @throws Problem 400 where it is there already, 409 where there are as many as can be.
 */
export function makeWebhook(
  pool: pg.Pool,
  actor: PersonActing,
  { address, events }: WebhookInput,
): Promise<{ webhook: Webhook; secret: string }> {
  const { conferenceId, personId } = actor;
  const secret = newSecret();
  return refusingTaken(
    inTransaction(pool, async (client) => {
      const { rows } = await client.query<{ id: string }>(
        `INSERT INTO webhook (conference_id, address, events, secret, created_by)
         SELECT $1, $2, $3, $4, $5
          WHERE (SELECT count(*) FROM webhook WHERE conference_id = $1) < $6 RETURNING id`,
        [conferenceId, new URL(address).href, JSON.stringify(events), secret, personId, most],
      );
      if (!rows[0]) throw conflict(`There are ${most} webhooks, as many as there can be: remove one first.`);
      const webhook = await findWebhook(client, conferenceId, rows[0].id);
      await note(client, actor, 'made a webhook', webhook.id, { after: inTrail(webhook) });
      return { webhook, secret };
    }),
  );
}

/** Changes what is given of it. What waits goes to the new address. @throws as `makeWebhook`; Refusal 404 */
export function changeWebhook(
  pool: pg.Pool,
  actor: PersonActing,
  webhookId: string,
  {
    address,
    events,
    paused,
  }: { [K in keyof WebhookInput]?: WebhookInput[K] | undefined } & {
    paused?: boolean | undefined;
  },
): Promise<Webhook> {
  const { conferenceId } = actor;
  return refusingTaken(
    inTransaction(pool, async (client) => {
      await hold(client, conferenceId, webhookId);
      const before = await findWebhook(client, conferenceId, webhookId);
      await client.query(
        `UPDATE webhook SET address = coalesce($3, address), events = coalesce($4, events),
                paused_at = CASE WHEN $5::boolean THEN coalesce(paused_at, now()) WHEN NOT $5::boolean THEN NULL ELSE paused_at END,
                paused_because = CASE WHEN $5::boolean THEN coalesce(paused_because, 'by hand') WHEN NOT $5::boolean THEN NULL
                                      ELSE paused_because END
          WHERE conference_id = $1 AND id = $2`,
        [
          ...[conferenceId, webhookId, address === undefined ? null : new URL(address).href],
          ...[events === undefined ? null : JSON.stringify(events), paused ?? null],
        ],
      );
      const webhook = await findWebhook(client, conferenceId, webhookId);
      const [from, to] = [inTrail(before), inTrail(webhook)];
      if (before.address !== webhook.address || JSON.stringify(from.events) !== JSON.stringify(to.events))
        await note(client, actor, 'changed a webhook', webhookId, { before: from, after: to });
      if ((before.state === 'works') !== (webhook.state === 'works'))
        await note(client, actor, paused ? 'paused a webhook' : 'let a webhook go on', webhookId);
      return webhook;
    }),
  );
}

/**
 * Gives it another secret; the one before signs beside it for `daysOfEarlier`, one before that no more.
 * @returns the new one, which cannot be shown again. @throws Refusal 404
 */
export function replaceSecret(
  pool: pg.Pool,
  actor: PersonActing,
  webhookId: string,
): Promise<{ secret: string; webhook: Webhook }> {
  const { conferenceId } = actor;
  const secret = newSecret();
  return inTransaction(pool, async (client) => {
    await client.query(
      `UPDATE webhook SET earlier_secret = secret, earlier_until = now() + make_interval(days => $4), secret = $3
        WHERE conference_id = $1 AND id = $2`,
      [conferenceId, webhookId, secret, daysOfEarlier],
    );
    const webhook = await findWebhook(client, conferenceId, webhookId);
    await note(client, actor, 'replaced the secret of a webhook', webhookId);
    return { secret, webhook };
  });
}

/** Removes it, with what waits for it. @throws Refusal 404 */
export function removeWebhook(pool: pg.Pool, actor: PersonActing, webhookId: string): Promise<void> {
  const { conferenceId } = actor;
  return inTransaction(pool, async (client) => {
    await hold(client, conferenceId, webhookId);
    const webhook = await findWebhook(client, conferenceId, webhookId);
    await client.query('DELETE FROM webhook WHERE conference_id = $1 AND id = $2', [conferenceId, webhookId]);
    await note(client, actor, 'removed a webhook', webhookId, { before: inTrail(webhook) });
  });
}

const hold = (client: Queryable, conferenceId: string, webhookId: string) =>
  client.query('SELECT FROM webhook WHERE conference_id = $1 AND id = $2 FOR UPDATE', [
    conferenceId,
    webhookId,
  ]);
