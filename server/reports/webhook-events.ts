import type { Acting } from '../accounts/acting.ts';
import type { Queryable } from '../database/transaction.ts';
import type { EventName } from '../webhooks/events.ts';
import { noteEvent } from '../webhooks/note-event.ts';

/**
 * Tells webhooks of what happened to a report or a reply to it, in the step's transaction, before the trail is written.
 * What is brought in from earlier is no news.
 */
export async function tellWebhooks(
  client: Queryable,
  { conferenceId, at }: Acting,
  event: EventName,
  about: { readonly reportId: string; readonly replyId?: string },
): Promise<void> {
  if (at !== undefined) return;
  const { rows } = await client.query<{ seasonId: string; gameId: string }>(
    'SELECT season_id AS "seasonId", game_id AS "gameId" FROM report WHERE conference_id = $1 AND id = $2',
    [conferenceId, about.reportId],
  );
  await noteEvent(client, conferenceId, event, { ...rows[0]!, ...about });
}
