import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { Watched } from '../../duties/watched.ts';
import { ReportNotFound } from '../refusals.ts';
import { isOpen, type ReportState, StepRefused } from '../states.ts';

export interface ReportRow {
  readonly id: string;
  readonly seasonId: string;
  readonly gameId: string;
  readonly observerId: string;
  readonly state: ReportState;
  readonly revision: number;
  readonly rubricVersionId: string | null;
  readonly generalComment: string;
  readonly returnedReason: string | null;
  readonly crewConfirmed: boolean;
  readonly replyUntil: Date | null;
  readonly watched: Watched | null;
}
// `columns` and `joined` are what is read besides, `held` what of it is held too.
const lockedReport = (columns = '', joined = '', held = '') => `
     SELECT r.id, r.season_id AS "seasonId", r.game_id AS "gameId", r.observer_id AS "observerId", r.state, r.revision,
            r.rubric_version_id AS "rubricVersionId", r.general_comment AS "generalComment",
            r.returned_reason AS "returnedReason", r.reply_until AS "replyUntil", r.watched,
            g.crew_confirmed_at IS NOT NULL AS "crewConfirmed"${columns}
       FROM report r JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id ${joined}
      WHERE r.conference_id = $1 AND r.id = $2
        FOR UPDATE OF r ${held}`;
/** Reads a report and holds it until the transaction ends, so that its changes and steps come one after another. */
export async function lockReport(
  client: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<ReportRow | undefined> {
  const { rows } = await client.query<ReportRow>({
    name: 'lock-report',
    text: lockedReport(),
    values: [conferenceId, reportId],
  });
  return rows[0];
}

/**
 * `lockReport`, and the version of its season's rubric that it would be filed under now, which cannot change until
 * the transaction ends either; nor can what its conference asks of a log.
 */
async function lockReportAndRubric(
  client: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<(ReportRow & { readonly currentVersionId: string | null }) | undefined> {
  const { rows } = await client.query<ReportRow & { currentVersionId: string | null }>({
    name: 'lock-report-and-rubric',
    text: lockedReport(
      ', v.id AS "currentVersionId"',
      `LEFT JOIN LATERAL (SELECT id FROM rubric_version v
                           WHERE v.conference_id = r.conference_id AND v.season_id = r.season_id
                           ORDER BY number DESC LIMIT 1 FOR KEY SHARE) v ON true
       JOIN conference c ON c.id = r.conference_id`,
      'FOR SHARE OF c',
    ),
    values: [conferenceId, reportId],
  });
  return rows[0];
}

export async function requireReport(client: Queryable, acting: Acting, reportId: string): Promise<ReportRow> {
  const report = await lockReport(client, acting.conferenceId, reportId);
  if (!report) throw new ReportNotFound();
  return report;
}

export async function requireReportAndRubric(client: Queryable, acting: Acting, reportId: string) {
  const report = await lockReportAndRubric(client, acting.conferenceId, reportId);
  if (!report) throw new ReportNotFound();
  const { currentVersionId } = report;
  if (!currentVersionId)
    throw new StepRefused('The season has no rubric yet; the coordinator has to set one up first.');
  return { ...report, currentVersionId };
}

export async function requireOpen(client: Queryable, acting: Acting, reportId: string): Promise<ReportRow> {
  const report = await requireReport(client, acting, reportId);
  if (!isOpen(report.state)) {
    throw new StepRefused(`This report is ${report.state}; its marks can no longer be changed.`);
  }
  return report;
}
