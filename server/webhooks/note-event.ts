import type { Queryable } from '../database/transaction.ts';
import type { EventName, Facts } from './events.ts';

/**
 * Notes an event for each address that wants it, inside the transaction in which it happens: kept together or not at
 * all. A paused address is told later. Call it before `appendAudit`.
 */
export async function noteEvent(
  client: Queryable,
  conferenceId: string,
  event: EventName,
  facts: Required<Omit<Facts, 'replyId'>> & Pick<Facts, 'replyId'>,
): Promise<void> {
  await client.query({
    name: 'note-webhook-event',
    text: `INSERT INTO webhook_delivery (conference_id, webhook_id, event, facts)
           SELECT w.conference_id, w.id, $2, $3 FROM webhook w
            WHERE w.conference_id = $1 AND w.events ? $2 ORDER BY w.id`,
    values: [conferenceId, event, JSON.stringify(facts)],
  });
}
