import { type TrailEntry, trailEntries } from '../../accounts/audit/audit-reading.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { Finding } from '../../duties/finding.ts';
import type { Play } from '../../football/play.ts';
import type { Position } from '../../football/positions.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { answerUntil } from '../answer-time.ts';
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

export interface MarkLine {
  id: string;
  playId: string;
  number: number;
  play: Play;
  filmSeconds: number | null;
  personId: string;
  official: string;
  position: Position;
  dutyKey: string;
  duty: string;
  gradedAs: 'mechanics' | 'call' | null;
  finding: Finding;
  comment: string;
  addsOpportunity: boolean;
  removed: boolean;
  replyId: string | null;
  reply: string | null;
  repliedAt: Date | null;
  ruling: string | null;
  changedTo: Finding | null;
  rulingNote: string | null;
}

type MarkRow = Omit<MarkLine, 'play'> & PlayColumns;

const markLines = `
  SELECT o.id, o.play_id AS "playId", l.number, l.kind, l.spot, l.quarter, l.clock_seconds, l.down, l.distance,
         l.facts, l.film_seconds AS "filmSeconds", o.person_id AS "personId",
         p.given_name || ' ' || p.family_name AS official, o.position, o.duty_key AS "dutyKey",
         COALESCE(d.title, o.duty_key) AS duty, d.graded_as AS "gradedAs", o.finding, o.comment,
         o.adds_opportunity AS "addsOpportunity", o.removed_at IS NOT NULL AS removed, y.id AS "replyId",
         y.text AS reply, y.created_at AS "repliedAt", u.ruling, u.changed_to AS "changedTo", u.note AS "rulingNote"
    FROM observation o
    JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
    JOIN play l ON l.conference_id = o.conference_id AND l.id = o.play_id
    JOIN person p ON p.conference_id = o.conference_id AND p.id = o.person_id
    LEFT JOIN LATERAL (
      SELECT d.title, d.graded_as FROM duty d
       WHERE d.conference_id = o.conference_id AND d.key = o.duty_key
         AND d.rubric_version_id = COALESCE(r.rubric_version_id, (
               SELECT id FROM rubric_version n
                WHERE n.conference_id = r.conference_id AND n.season_id = r.season_id
                ORDER BY n.number DESC LIMIT 1))) d ON true
    LEFT JOIN reply y ON y.conference_id = o.conference_id AND y.observation_id = o.id
    LEFT JOIN ruling u ON u.conference_id = y.conference_id AND u.reply_id = y.id`;

const asMark = ({
  kind,
  spot,
  quarter,
  clock_seconds,
  down,
  distance,
  facts,
  ...mark
}: MarkRow): MarkLine => ({
  ...mark,
  play: playOf({ kind, spot, quarter, clock_seconds, down, distance, facts }),
});

/** A report's marks in the order of plays; those withdrawn after a reply are among them, marked as removed. */
export async function reportMarks(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<MarkLine[]> {
  const { rows } = await db.query<MarkRow>(
    `${markLines} WHERE o.conference_id = $1 AND o.report_id = $2 AND (o.removed_at IS NULL OR y.id IS NOT NULL)
      ORDER BY l.number, o.position, o.id`,
    [conferenceId, reportId],
  );
  return rows.map(asMark);
}

export async function markLine(
  db: Queryable,
  conferenceId: string,
  observationId: string,
): Promise<MarkLine | undefined> {
  const { rows } = await db.query<MarkRow>(`${markLines} WHERE o.conference_id = $1 AND o.id = $2`, [
    conferenceId,
    observationId,
  ]);
  return rows[0] && asMark(rows[0]);
}

export interface OwnMark extends MarkLine {
  reportId: string;
  seasonId: string;
  week: number;
  game: string;
  /** The end of the last day on which this official may answer. */
  replyUntil: Date | null;
  /** The conference's, in which that day is told. */
  timeZone: string;
}

/** The marks about one official in released reports, newest game first. Nothing else is theirs to see. */
export async function releasedMarksAbout(
  db: Queryable,
  conferenceId: string,
  personId: string,
): Promise<OwnMark[]> {
  const { rows } = await db.query<
    MarkRow & Pick<OwnMark, 'reportId' | 'seasonId' | 'week' | 'game' | 'replyUntil' | 'timeZone'>
  >(
    `SELECT m.*, r.id AS "reportId", r.season_id AS "seasonId", g.week, teams.title AS game, ${answerUntil('$2')} AS "replyUntil", c.time_zone AS "timeZone"
       FROM (${markLines} WHERE o.conference_id = $1 AND o.person_id = $2 AND r.state = 'released'
              AND (o.removed_at IS NULL OR y.id IS NOT NULL)) m
       JOIN observation o ON o.conference_id = $1 AND o.id = m.id
       JOIN report r ON r.conference_id = $1 AND r.id = o.report_id
       JOIN game g ON g.conference_id = $1 AND g.id = r.game_id
       JOIN conference c ON c.id = $1
       JOIN game_teams teams ON teams.conference_id = $1 AND teams.game_id = g.id
      ORDER BY g.kickoff DESC, r.released_at, r.id, m.number, m.id`,
    [conferenceId, personId],
  );
  return rows.map((row) => ({
    ...asMark(row),
    reportId: row.reportId,
    seasonId: row.seasonId,
    week: row.week,
    game: row.game,
    replyUntil: row.replyUntil,
    timeZone: row.timeZone,
  }));
}

export interface ReplyLine {
  replyId: string;
  observationId: string;
  reportId: string;
  official: string;
  text: string;
  repliedAt: Date;
  week: number;
  game: string;
  timeZone: string;
  ruling: string | null;
}

/** Replies of a season, those without a ruling first. */
export async function seasonReplies(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ReplyLine[]> {
  const { rows } = await db.query<ReplyLine>(
    `SELECT y.id AS "replyId", o.id AS "observationId", r.id AS "reportId",
            p.given_name || ' ' || p.family_name AS official, y.text, y.created_at AS "repliedAt", g.week,
            teams.title AS game, v.time_zone AS "timeZone", u.ruling
       FROM reply y
       JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
       JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
       JOIN person p ON p.conference_id = y.conference_id AND p.id = y.official_id
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
       LEFT JOIN ruling u ON u.conference_id = y.conference_id AND u.reply_id = y.id
      WHERE y.conference_id = $1 AND r.season_id = $2
      ORDER BY u.ruling IS NOT NULL, y.created_at, y.id`,
    [conferenceId, seasonId],
  );
  return rows;
}

/** What the coordinator has yet to do about reports, one row for each: its season, and what it is. */
export async function waitingForCoordinator(
  db: Queryable,
  conferenceId: string,
): Promise<{ seasonId: string; what: 'review' | 'release' | 'ruling' }[]> {
  const { rows } = await db.query(
    `SELECT r.season_id AS "seasonId", CASE r.state WHEN 'filed' THEN 'review' ELSE 'release' END AS what
       FROM report r WHERE r.conference_id = $1 AND r.state IN ('filed', 'accepted')
     UNION ALL
     SELECT r.season_id, 'ruling'
       FROM reply y
       JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
       JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
      WHERE y.conference_id = $1
        AND NOT EXISTS (SELECT FROM ruling u WHERE u.conference_id = y.conference_id AND u.reply_id = y.id)`,
    [conferenceId],
  );
  return rows;
}

export interface OfficialCount {
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

/** Who did what to a report, its marks and the play log under it, oldest first. */
export async function reportTrail(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<TrailEntry[]> {
  const { rows } = await db.query<TrailEntry>(
    `${trailEntries}
      WHERE e.conference_id = $1
        AND (e.subject_kind = 'report' AND e.subject_id = $2::text
          OR e.subject_kind = 'observation' AND e.subject_id IN (
               SELECT id::text FROM observation WHERE conference_id = $1 AND report_id = $2::uuid)
          OR e.subject_kind = 'reply' AND e.subject_id IN (
               SELECT y.id::text FROM reply y JOIN observation o ON o.conference_id = $1 AND o.id = y.observation_id
                WHERE y.conference_id = $1 AND o.report_id = $2::uuid)
          OR e.subject_kind = 'play' AND e.subject_id IN (
               SELECT l.id::text FROM play l JOIN report r ON r.conference_id = $1 AND r.game_id = l.game_id
                WHERE l.conference_id = $1 AND r.id = $2::uuid))
      ORDER BY e.number`,
    [conferenceId, reportId],
  );
  return rows;
}

export interface RevisionLine {
  revision: number;
  reason: string;
  /** Who made it; the program's own name when nobody did. */
  madeBy: string;
  madeAt: Date;
  marks: number;
}

/** What a report said at each release, oldest first. */
export async function reportRevisions(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<RevisionLine[]> {
  const { rows } = await db.query<RevisionLine>(
    `SELECT v.revision, v.reason, COALESCE(p.given_name || ' ' || p.family_name, 'Crewmark') AS "madeBy",
            v.made_at AS "madeAt", jsonb_array_length(v.content->'observations') AS marks
       FROM report_revision v LEFT JOIN person p ON p.conference_id = v.conference_id AND p.id = v.made_by
      WHERE v.conference_id = $1 AND v.report_id = $2 ORDER BY v.revision`,
    [conferenceId, reportId],
  );
  return rows;
}

export interface RevisionMark {
  number: number;
  official: string;
  position: Position;
  duty: string;
  finding: Finding;
  comment: string;
}

/** The marks of one revision as they were then, in the order of plays. */
export async function revisionMarks(
  db: Queryable,
  conferenceId: string,
  reportId: string,
  revision: number,
): Promise<RevisionMark[]> {
  const { rows } = await db.query<RevisionMark>(
    `SELECT l.number, p.given_name || ' ' || p.family_name AS official, o->>'position' AS position,
            COALESCE(d.title, o->>'dutyKey') AS duty, o->>'finding' AS finding, o->>'comment' AS comment
       FROM report_revision v
       CROSS JOIN LATERAL jsonb_array_elements(v.content->'observations') o
       JOIN play l ON l.conference_id = v.conference_id AND l.id = (o->>'playId')::uuid
       JOIN person p ON p.conference_id = v.conference_id AND p.id = (o->>'personId')::uuid
       LEFT JOIN duty d ON d.conference_id = v.conference_id AND d.key = o->>'dutyKey'
                       AND d.rubric_version_id = (v.content->>'rubricVersionId')::uuid
      WHERE v.conference_id = $1 AND v.report_id = $2 AND v.revision = $3
      ORDER BY l.number, o->>'position', o->>'id'`,
    [conferenceId, reportId, revision],
  );
  return rows;
}

/** An official's answer to a mark and the ruling on it, oldest first. */
export async function replyTrail(
  db: Queryable,
  conferenceId: string,
  replyId: string,
): Promise<TrailEntry[]> {
  const { rows } = await db.query<TrailEntry>(
    `${trailEntries}
      WHERE e.conference_id = $1
        AND (e.subject_kind = 'reply' AND e.subject_id = $2::text
          OR e.subject_kind = 'observation' AND e.subject_id = (
               SELECT observation_id::text FROM reply WHERE conference_id = $1 AND id = $2::uuid))
      ORDER BY e.number`,
    [conferenceId, replyId],
  );
  return rows;
}

export interface ObserverGame {
  gameId: string;
  seasonId: string;
  week: number;
  game: string;
  kickoff: Date;
  timeZone: string;
  venue: string;
  how: string;
  answer: string;
  plays: number;
  reportId: string | null;
  state: ReportState | null;
  returnedReason: string | null;
  marks: number;
}

/** An observer's games with their report on each, the next to be worked on first. */
export async function observerGames(
  db: Queryable,
  conferenceId: string,
  observerId: string,
): Promise<ObserverGame[]> {
  const { rows } = await db.query<ObserverGame>(
    `SELECT g.id AS "gameId", g.season_id AS "seasonId", g.week, teams.title AS game, g.kickoff, v.time_zone AS "timeZone",
            v.name AS venue, s.how, s.answer, r.id AS "reportId", r.state, r.returned_reason AS "returnedReason",
            (SELECT count(*)::int FROM play l
              WHERE l.conference_id = g.conference_id AND l.game_id = g.id AND l.removed_at IS NULL) AS plays,
            (SELECT count(*)::int FROM observation o
              WHERE o.conference_id = r.conference_id AND o.report_id = r.id AND o.removed_at IS NULL) AS marks
       FROM observer_assignment s
       JOIN game g ON g.conference_id = s.conference_id AND g.id = s.game_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
       LEFT JOIN report r ON r.conference_id = s.conference_id AND r.game_id = s.game_id
                         AND r.observer_id = s.observer_id
      WHERE s.conference_id = $1 AND s.observer_id = $2 AND s.answer <> 'declined'
      ORDER BY COALESCE(r.state IN ('filed', 'accepted', 'released'), false), g.kickoff, g.key`,
    [conferenceId, observerId],
  );
  return rows;
}
