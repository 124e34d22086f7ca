import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import type { Queryable } from '../../database/transaction.ts';
import { wholeNumber } from '../../web/whole-number.ts';

/** Within how many days of kickoff observers file their reports: the conference's to set. */
export const reportDaysSchema = z.strictObject({
  reportDays: wholeNumber('reportDays', 1, 60),
});
type ReportDays = z.infer<typeof reportDaysSchema>;

export function reportDaysOf(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<ReportDays> {
  return prisma.conference.findUniqueOrThrow({ where: { id: conferenceId }, select: { reportDays: true } });
}

/** From when on a report is overdue. */
export const dueOf = (kickoff: Date, reportDays: number): Date =>
  new Date(kickoff.getTime() + reportDays * 24 * 3600 * 1000);

/** Keeps it, for games played already too. */
export async function keepReportDays(
  client: Queryable,
  actor: PersonActing,
  { reportDays }: ReportDays,
): Promise<void> {
  const { rows } = await client.query<ReportDays>(
    'SELECT report_days AS "reportDays" FROM conference WHERE id = $1 FOR UPDATE',
    [actor.conferenceId],
  );
  if (rows[0]?.reportDays === reportDays) return;
  await client.query('UPDATE conference SET report_days = $2 WHERE id = $1', [
    actor.conferenceId,
    reportDays,
  ]);
  await appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: 'time to report changed',
    subjectKind: 'conference',
    subjectId: actor.conferenceId,
    before: rows[0],
    after: { reportDays },
  });
}
