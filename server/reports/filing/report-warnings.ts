import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { Code } from '../../football/codes.ts';
import type { Points } from '../../football/whole/points.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import { ReportNotFound } from '../refusals.ts';
import { isOpen, type ReportState } from '../states.ts';
import { playLog, workingCrew } from './counted-material.ts';
import { requireReportAndRubric } from './held-report.ts';
import { countReport } from './kept-counts.ts';
import { type CountOfPosition, type Warning, warningsOf } from './whole.ts';

/** What tells that a report is not whole: by its kept counts once it is filed, before that by what filing would count. */
export async function reportWarnings(
  client: Queryable,
  acting: Acting,
  reportId: string,
): Promise<Warning[]> {
  const { conferenceId } = acting;
  const { rows } = await client.query<{
    state: ReportState;
    gameId: string;
    rubricVersionId: string | null;
    crewSize: number;
    finalScore: Points | null;
    home: string;
    visitor: string;
    code: Code;
  }>(
    `SELECT r.state, r.game_id AS "gameId", r.rubric_version_id AS "rubricVersionId", s.crew_size AS "crewSize",
            CASE WHEN g.home_points IS NOT NULL
                 THEN jsonb_build_object('home', g.home_points, 'visitor', g.visitor_points) END AS "finalScore",
            teams.home, teams.visitor,
            coalesce((SELECT v.code FROM rubric_version v
                       WHERE v.conference_id = r.conference_id AND v.season_id = r.season_id
                       ORDER BY v.id = r.rubric_version_id DESC NULLS LAST, v.number DESC LIMIT 1), c.code) AS code
       FROM report r
       JOIN conference c ON c.id = r.conference_id
       JOIN season s ON s.conference_id = r.conference_id AND s.id = r.season_id
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE r.conference_id = $1 AND r.id = $2`,
    [conferenceId, reportId],
  );
  const report = rows[0];
  if (!report) throw new ReportNotFound();
  const crew = crewAtWork(await workingCrew(client, conferenceId, report.gameId));
  return warningsOf({
    code: report.code,
    plays: await playLog(client, conferenceId, report.gameId),
    crew: crew.present,
    crewSize: report.crewSize,
    finalScore: report.finalScore,
    teams: { home: report.home, visitor: report.visitor },
    counts:
      report.rubricVersionId !== null && !isOpen(report.state)
        ? await keptCounts(client, conferenceId, reportId)
        : await countsNow(client, acting, reportId),
  });
}

async function keptCounts(client: Queryable, conferenceId: string, reportId: string) {
  const { rows } = await client.query<CountOfPosition>(
    `SELECT position, sum(opportunities)::int AS opportunities, sum(not_counted)::int AS "notCounted",
            sum(unwatched)::int AS unwatched
       FROM opportunity_count WHERE conference_id = $1 AND report_id = $2 GROUP BY position`,
    [conferenceId, reportId],
  );
  return rows;
}

async function countsNow(client: Queryable, acting: Acting, reportId: string): Promise<CountOfPosition[]> {
  const report = await requireReportAndRubric(client, acting, reportId);
  return [...(await countReport(client, acting, report, report.currentVersionId)).counted.counts];
}
