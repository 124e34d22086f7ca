import type { Queryable } from '../../database/transaction.ts';
import { compileRubric } from '../../duties/opportunities.ts';
import { samplesOfGame } from '../../duties/two-samples-of-game.ts';
import { type Watched, watchedOn } from '../../duties/watched.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import { type Detection, type DoubleGame, detectionOf } from '../../grading/agreement/detection.ts';
import { readCountedRubric } from '../../rubric/read-rubric.ts';
import { currentRubricVersion, marksOf, playLog, workingCrew } from '../filing/counted-material.ts';
import { type ReportLine, reportsOfGame } from './report-lines.ts';
import { compareReports, type DutyAgreement, type SeenReport } from './two-reports.ts';

export interface GameAgreement {
  readonly reports: readonly ReportLine[];
  readonly first: ReportLine;
  readonly second: ReportLine;
  readonly overall: DutyAgreement;
  readonly duties: (DutyAgreement & { readonly title: string })[];
  /** The two reports as two samples of the misses; `first` and `second` are their observers. */
  readonly samples: DoubleGame;
  readonly detection: Detection;
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
  const rubric = versionId ? await readCountedRubric(db, conferenceId, versionId) : undefined;
  const duties = rubric?.duties ?? [];
  const titles = new Map(duties.map((duty) => [duty.key, duty.title]));
  const plays = await playLog(db, conferenceId, gameId);
  const crew = crewAtWork(await workingCrew(db, conferenceId, gameId));
  const compiled = compileRubric(duties, rubric?.practices);
  const seen = await seenReport(db, conferenceId, first.id);
  const otherSeen = await seenReport(db, conferenceId, other.id);
  const decidedShareLeast = await leastDecided(db, conferenceId, first.id);
  const compared = compareReports(plays, crew, compiled, seen, otherSeen, decidedShareLeast);
  const counted = ({ marks, watched }: SeenReport) => ({
    rubric: compiled,
    marks,
    watchedOn: watched
      ? watchedOn(
          watched,
          plays.map((play) => play.id),
        )
      : undefined,
    decidedShareLeast,
  });
  const samples = {
    game: gameId,
    first: first.observerId,
    second: other.observerId,
    ...samplesOfGame(plays, crew, [counted(seen), counted(otherSeen)]),
  };
  return {
    reports,
    first,
    second: other,
    overall: compared.overall,
    duties: compared.duties.map((duty) => ({ ...duty, title: titles.get(duty.dutyKey) ?? duty.dutyKey })),
    samples,
    detection: detectionOf([samples]),
  };
}

async function seenReport(db: Queryable, conferenceId: string, reportId: string): Promise<SeenReport> {
  const { rows } = await db.query<{ watched: Watched | null }>(
    'SELECT watched FROM report WHERE conference_id = $1 AND id = $2',
    [conferenceId, reportId],
  );
  return { marks: await marksOf(db, conferenceId, reportId), watched: rows[0]!.watched };
}

/** The least share decided with which a duty counted when the report was counted; the conference's before that. */
async function leastDecided(db: Queryable, conferenceId: string, reportId: string): Promise<number> {
  const { rows } = await db.query<{ least: number }>(
    `SELECT coalesce(r.counted_share_least, c.decided_share_least) AS least
       FROM report r JOIN conference c ON c.id = r.conference_id WHERE r.conference_id = $1 AND r.id = $2`,
    [conferenceId, reportId],
  );
  return rows[0]!.least;
}
