import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { wholeNumber } from '../../web/whole-number.ts';

/** For how many days after a report's release its officials may answer: the conference's to set. */
export const replyWindowSchema = z.strictObject({
  replyDays: wholeNumber('replyDays', 0, 365),
});
export type ReplyWindow = z.infer<typeof replyWindowSchema>;

export async function replyWindow(db: Queryable, conferenceId: string): Promise<ReplyWindow> {
  const { rows } = await db.query<ReplyWindow>(
    'SELECT reply_days AS "replyDays" FROM conference WHERE id = $1',
    [conferenceId],
  );
  return rows[0]!;
}

/** Keeps the window for reports released from now on; those released keep the day they were given. */
export async function keepReplyWindow(
  client: Queryable,
  actor: PersonActing,
  { replyDays }: ReplyWindow,
): Promise<void> {
  const before = await replyWindow(client, actor.conferenceId);
  await client.query('UPDATE conference SET reply_days = $2 WHERE id = $1', [actor.conferenceId, replyDays]);
  await appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: 'time to answer changed',
    subjectKind: 'conference',
    subjectId: actor.conferenceId,
    before,
    after: { replyDays },
  });
}
