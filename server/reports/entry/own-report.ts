import type { PersonActing } from '../../accounts/acting.ts';
import type { Database } from '../../database/database.ts';
import { unfiled } from '../../schedule/open-states.ts';

/** The report on a game that an observer has begun and not handed in; undefined without one. */
export async function unfiledReportOf(
  { prisma }: Pick<Database, 'prisma'>,
  { conferenceId, personId }: PersonActing,
  gameId: string,
): Promise<string | undefined> {
  const report = await prisma.report.findFirst({
    where: { conferenceId, gameId, observerId: personId, state: { in: [...unfiled] } },
    select: { id: true },
  });
  return report?.id;
}
