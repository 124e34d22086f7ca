import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { type CountResult, countsMethod } from '../../duties/opportunity-counts.ts';
import { ReportIncomplete } from '../refusals.ts';
import { stateAfter } from '../states.ts';
import type { Missing } from './completeness.ts';
import { requireReportAndRubric } from './held-report.ts';
import { countReport, keepCounts } from './kept-counts.ts';
import { noteStep } from './note-step.ts';
import { tellOfFiling } from './report-messages.ts';
import { sealNow } from './report-seal.ts';

/**
 * Files a report: computes what every official owed under the season's current rubric, lays the marks over it and
 * keeps the counts.
 * @throws ReportIncomplete with what is missing; StepRefused when it is not a draft or returned.
 */
export async function fileReport(client: Queryable, acting: Acting, reportId: string): Promise<CountResult> {
  const report = await requireReportAndRubric(client, acting, reportId);
  const state = stateAfter(report.state, 'file');
  const versionId = report.currentVersionId;
  const entered = await countReport(client, acting, report, versionId);
  if (entered.missing.length > 0) throw new ReportIncomplete(entered.missing);
  await keepCounts(client, acting, report, entered);
  await client.query({
    name: 'file-report',
    text: `UPDATE report SET state = $3, filed_at = $4, rubric_version_id = $5, counts_method = $6,
             counted_share_least = $7, returned_reason = NULL
      WHERE conference_id = $1 AND id = $2`,
    values: [
      ...[acting.conferenceId, reportId, state, acting.at ?? new Date(), versionId, countsMethod],
      entered.decidedShareLeast,
    ],
  });
  await tellOfFiling(client, acting, report);
  const sealed = await sealNow(client, acting.conferenceId, reportId);
  await noteStep(client, acting, report, 'filed', state, { sealed });
  return entered.counted;
}

/** What filing would say is missing now; changes nothing. */
export async function whatIsMissing(client: Queryable, acting: Acting, reportId: string): Promise<Missing[]> {
  const report = await requireReportAndRubric(client, acting, reportId);
  return (await countReport(client, acting, report, report.currentVersionId)).missing;
}
