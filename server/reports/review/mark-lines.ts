import type { Queryable } from '../../database/transaction.ts';
import type { Consequence } from '../../duties/consequence.ts';
import type { Finding } from '../../duties/finding.ts';
import type { MarkStanding } from '../../duties/mark-standing.ts';
import type { Play } from '../../football/play.ts';
import type { Position } from '../../football/positions.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { answerUntil } from '../answer-time.ts';

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
  consequence: Consequence | null;
  comment: string;
  /** Whether it counts, and if not, why not; null while its report was never filed. */
  standing: MarkStanding | null;
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
         COALESCE(d.title, o.duty_key) AS duty, d.graded_as AS "gradedAs", o.finding,
         o.consequence, o.comment, o.standing, o.removed_at IS NOT NULL AS removed, y.id AS "replyId",
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
  gameId: string;
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
    MarkRow & Pick<OwnMark, 'reportId' | 'gameId' | 'seasonId' | 'week' | 'game' | 'replyUntil' | 'timeZone'>
  >(
    `SELECT m.*, r.id AS "reportId", r.game_id AS "gameId", r.season_id AS "seasonId", g.week, teams.title AS game, ${answerUntil('$2')} AS "replyUntil", c.time_zone AS "timeZone"
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
    gameId: row.gameId,
    seasonId: row.seasonId,
    week: row.week,
    game: row.game,
    replyUntil: row.replyUntil,
    timeZone: row.timeZone,
  }));
}
