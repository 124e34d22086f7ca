import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import type { Queryable } from '../../database/transaction.ts';
import { wholeNumber } from '../../web/whole-number.ts';

/** For how many days after a report's release its officials may answer: the conference's to set. */
export const replyWindowSchema = z.strictObject({
  replyDays: wholeNumber('replyDays', 0, 365),
});
type ReplyWindow = z.infer<typeof replyWindowSchema>;

export function replyWindow(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<ReplyWindow> {
  return prisma.conference.findUniqueOrThrow({ where: { id: conferenceId }, select: { replyDays: true } });
}

/** Keeps the window for reports released from now on; those released keep the day they were given. */
export async function keepReplyWindow(
  client: Queryable,
  actor: PersonActing,
  { replyDays }: ReplyWindow,
): Promise<void> {
  const { rows } = await client.query<ReplyWindow>(
    'SELECT reply_days AS "replyDays" FROM conference WHERE id = $1',
    [actor.conferenceId],
  );
  await client.query('UPDATE conference SET reply_days = $2 WHERE id = $1', [actor.conferenceId, replyDays]);
  await appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: 'time to answer changed',
    subjectKind: 'conference',
    subjectId: actor.conferenceId,
    before: rows[0],
    after: { replyDays },
  });
}
