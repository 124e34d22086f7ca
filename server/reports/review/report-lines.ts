import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import type { ReportState } from '../states.ts';

export interface ReportLine {
  id: string;
  state: ReportState;
  revision: number;
  week: number;
  gameId: string;
  game: string;
  kickoff: Date;
  timeZone: string;
  observerId: string;
  observer: string;
  filedAt: Date | null;
  releasedAt: Date | null;
  marks: number;
  repliesWaiting: number;
}

const reportLines = `
  SELECT r.id, r.state, r.revision, g.week, g.id AS "gameId", teams.title AS game, g.kickoff,
         v.time_zone AS "timeZone", r.observer_id AS "observerId", p.given_name || ' ' || p.family_name AS observer,
         r.filed_at AS "filedAt", r.released_at AS "releasedAt",
         (SELECT count(*)::int FROM observation o
           WHERE o.conference_id = r.conference_id AND o.report_id = r.id AND o.removed_at IS NULL) AS marks,
         (SELECT count(*)::int FROM reply y
            JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
           WHERE y.conference_id = r.conference_id AND o.report_id = r.id
             AND NOT EXISTS (SELECT FROM ruling u WHERE u.conference_id = y.conference_id AND u.reply_id = y.id)
         ) AS "repliesWaiting"
    FROM report r
    JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
    JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
    JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
    JOIN person p ON p.conference_id = r.conference_id AND p.id = r.observer_id`;

/** The season's reports in the order of their games. */
export async function seasonReports(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ReportLine[]> {
  const { rows } = await db.query<ReportLine>(
    `${reportLines} WHERE r.conference_id = $1 AND r.season_id = $2 ORDER BY g.week, g.kickoff, g.key, r.id`,
    [conferenceId, seasonId],
  );
  return rows;
}

export async function reportLine(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<ReportLine | undefined> {
  const { rows } = await db.query<ReportLine>(`${reportLines} WHERE r.conference_id = $1 AND r.id = $2`, [
    conferenceId,
    reportId,
  ]);
  return rows[0];
}

export async function reportsOfGame(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<ReportLine[]> {
  const { rows } = await db.query<ReportLine>(
    `${reportLines} WHERE r.conference_id = $1 AND r.game_id = $2 ORDER BY r.filed_at NULLS LAST, r.id`,
    [conferenceId, gameId],
  );
  return rows;
}

/** What the coordinator has yet to do about reports, one row for each: its season, and what it is; nothing of closed seasons. */
export async function waitingForCoordinator(
  db: Queryable,
  conferenceId: string,
): Promise<{ seasonId: string; what: 'review' | 'release' | 'ruling' }[]> {
  const { rows } = await db.query(
    `SELECT r.season_id AS "seasonId", CASE r.state WHEN 'filed' THEN 'review' ELSE 'release' END AS what
       FROM report r
       JOIN season s ON s.conference_id = r.conference_id AND s.id = r.season_id AND s.state <> 'closed'
      WHERE r.conference_id = $1 AND r.state IN ('filed', 'accepted')
     UNION ALL
     SELECT r.season_id, 'ruling'
       FROM reply y
       JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
       JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
       JOIN season s ON s.conference_id = r.conference_id AND s.id = r.season_id AND s.state <> 'closed'
      WHERE y.conference_id = $1
        AND NOT EXISTS (SELECT FROM ruling u WHERE u.conference_id = y.conference_id AND u.reply_id = y.id)`,
    [conferenceId],
  );
  return rows;
}

interface OfficialCount {
  position: Position;
  personId: string;
  official: string;
  opportunities: number;
  notMet: number;
  notCounted: number;
  model: number;
}

/** What a filed report counts for each official. */
export async function officialCounts(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<OfficialCount[]> {
  const { rows } = await db.query<OfficialCount>(
    `SELECT n.position, n.person_id AS "personId", p.given_name || ' ' || p.family_name AS official,
            sum(n.opportunities)::int AS opportunities, sum(n.not_met)::int AS "notMet",
            sum(n.not_counted)::int AS "notCounted", sum(n.model)::int AS model
       FROM opportunity_count n JOIN person p ON p.conference_id = n.conference_id AND p.id = n.person_id
      WHERE n.conference_id = $1 AND n.report_id = $2
      GROUP BY n.position, n.person_id, p.given_name, p.family_name`,
    [conferenceId, reportId],
  );
  return rows;
}

interface ReportDetails {
  generalComment: string;
  returnedReason: string | null;
  replyUntil: Date | null;
  openedUntil: Date | null;
  zone: string;
}

/** What only the page of one report shows; the report is there. */
export async function reportDetails(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<ReportDetails> {
  const { rows } = await db.query<ReportDetails>(
    `SELECT general_comment AS "generalComment", returned_reason AS "returnedReason", reply_until AS "replyUntil",
            c.time_zone AS zone,
            (SELECT max(w.open_until) FROM reply_opening w WHERE w.conference_id = $1 AND w.report_id = r.id
                AND w.open_until > r.reply_until) AS "openedUntil"
       FROM report r JOIN conference c ON c.id = r.conference_id WHERE r.conference_id = $1 AND r.id = $2`,
    [conferenceId, reportId],
  );
  return rows[0]!;
}
