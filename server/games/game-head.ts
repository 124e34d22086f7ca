import type { Queryable } from '../database/transaction.ts';
import { notFound } from '../web/problem.ts';

/** A game as it is introduced at the top of its pages. */
export interface GameHead {
  readonly id: string;
  readonly seasonId: string;
  readonly week: number;
  readonly title: string;
  readonly kickoff: Date;
  readonly timeZone: string;
  readonly venue: string;
  /** The crew that is planned; null when none is. */
  readonly crewId: string | null;
  readonly confirmed: boolean;
  /** How many usually work a game of the season. */
  readonly crewSize: number;
  /** The final score; null while nobody has entered it. */
  readonly finalScore: { readonly home: number; readonly visitor: number } | null;
}

/** @throws Problem 404 when the conference has no such game. */
export async function readGameHead(db: Queryable, conferenceId: string, gameId: string): Promise<GameHead> {
  const { rows } = await db.query<GameHead>(
    `SELECT g.id, g.season_id AS "seasonId", g.week, teams.title, g.kickoff, v.time_zone AS "timeZone",
            v.name AS venue, g.crew_id AS "crewId", g.crew_confirmed_at IS NOT NULL AS confirmed,
            s.crew_size AS "crewSize",
            CASE WHEN g.home_points IS NOT NULL
                 THEN jsonb_build_object('home', g.home_points, 'visitor', g.visitor_points) END AS "finalScore"
       FROM game g
       JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE g.conference_id = $1 AND g.id = $2`,
    [conferenceId, gameId],
  );
  if (!rows[0]) throw notFound('game');
  return rows[0];
}
