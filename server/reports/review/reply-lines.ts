import type { Queryable } from '../../database/transaction.ts';

interface ReplyLine {
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

type ReplyPlace = Pick<ReplyLine, 'observationId' | 'reportId' | 'timeZone'> & { gameId: string };

/** Which mark of which report and game a reply answers, and its venue's zone. */
export async function replyPlace(
  db: Queryable,
  conferenceId: string,
  replyId: string,
): Promise<ReplyPlace | undefined> {
  const { rows } = await db.query<ReplyPlace>(
    `SELECT y.observation_id AS "observationId", o.report_id AS "reportId", g.id AS "gameId",
              v.time_zone AS "timeZone"
         FROM reply y
         JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
         JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
         JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
         JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
        WHERE y.conference_id = $1 AND y.id = $2`,
    [conferenceId, replyId],
  );
  return rows[0];
}
