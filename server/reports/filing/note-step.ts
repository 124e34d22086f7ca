import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { ReportRow } from './held-report.ts';
import type { Seal } from './report-seal.ts';

export async function noteStep(
  client: Queryable,
  acting: Acting,
  report: ReportRow,
  action: string,
  state: string,
  { reason, sealed }: { reason?: string; sealed?: Seal } = {},
): Promise<void> {
  await appendAudit(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    action,
    subjectKind: 'report',
    subjectId: report.id,
    reason,
    before: { state: report.state, revision: report.revision },
    after: { state, revision: report.revision, ...(sealed && { sealed }) },
  });
}
