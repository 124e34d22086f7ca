import type { Queryable } from '../../database/transaction.ts';
import { compileRubric } from '../../duties/opportunities.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import { currentRubricVersion, dutiesOf, marksOf, playLog, workingCrew } from '../filing/report-material.ts';
import { type ReportLine, reportsOfGame } from './review-store.ts';
import { compareReports, type DutyAgreement } from './two-reports.ts';

export interface GameAgreement {
  readonly reports: readonly ReportLine[];
  readonly first: ReportLine;
  readonly second: ReportLine;
  readonly overall: DutyAgreement;
  readonly duties: (DutyAgreement & { readonly title: string })[];
}

/**
 * Lays two reports of a game side by side under the season's current rubric: those named, else the two filed first.
 * Undefined when there are not two.
 */
export async function gameAgreement(
  db: Queryable,
  conferenceId: string,
  gameId: string,
  chosen: { first?: string; second?: string } = {},
): Promise<GameAgreement | undefined> {
  const reports = await reportsOfGame(db, conferenceId, gameId);
  const first = reports.find((report) => report.id === chosen.first) ?? reports[0];
  const second = reports.find((report) => report.id === chosen.second && report !== first);
  const other = second ?? reports.find((report) => report !== first);
  if (!first || !other) return undefined;
  const { rows } = await db.query<{ season_id: string }>(
    'SELECT season_id FROM game WHERE conference_id = $1 AND id = $2',
    [conferenceId, gameId],
  );
  const versionId = await currentRubricVersion(db, conferenceId, rows[0]!.season_id);
  const duties = versionId ? await dutiesOf(db, conferenceId, versionId) : [];
  const titles = new Map(duties.map((duty) => [duty.key, duty.title]));
  const compared = compareReports(
    await playLog(db, conferenceId, gameId),
    crewAtWork(await workingCrew(db, conferenceId, gameId)),
    compileRubric(duties),
    await marksOf(db, conferenceId, first.id),
    await marksOf(db, conferenceId, other.id),
  );
  return {
    reports,
    first,
    second: other,
    overall: compared.overall,
    duties: compared.duties.map((duty) => ({ ...duty, title: titles.get(duty.dutyKey) ?? duty.dutyKey })),
  };
}
