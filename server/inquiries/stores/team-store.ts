import type { Queryable } from '../../database/transaction.ts';

/** What a contact may know of a game of their team: nothing of crews, reports or marks. */
export interface TeamGame {
  readonly gameId: string;
  readonly seasonId: string;
  readonly season: string;
  readonly closed: boolean;
  readonly week: number;
  readonly kickoff: Date;
  readonly timeZone: string;
  readonly home: string;
  readonly visitor: string;
}

/** The one team that a contact speaks for; null while nobody has said which. */
export async function teamOf(
  db: Queryable,
  conferenceId: string,
  personId: string,
): Promise<{ id: string; name: string } | null> {
  const { rows } = await db.query<{ id: string; name: string }>(
    `SELECT t.id, t.name FROM team_contact c JOIN team t ON t.conference_id = c.conference_id AND t.id = c.team_id
      WHERE c.conference_id = $1 AND c.person_id = $2`,
    [conferenceId, personId],
  );
  return rows[0] ?? null;
}

/** The team's games of all seasons, the newest first; or one of them. */
export async function gamesOfTeam(
  db: Queryable,
  conferenceId: string,
  teamId: string,
  gameId: string | null = null,
): Promise<TeamGame[]> {
  const { rows } = await db.query<TeamGame>(
    `SELECT g.id AS "gameId", s.id AS "seasonId", s.name AS season, s.state = 'closed' AS closed, g.week, g.kickoff,
            v.time_zone AS "timeZone", t.home, t.visitor
       FROM game g
       JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
      WHERE g.conference_id = $1 AND $2 IN (g.home_team_id, g.visiting_team_id) AND ($3::uuid IS NULL OR g.id = $3)
      ORDER BY g.kickoff DESC, g.id`,
    [conferenceId, teamId, gameId],
  );
  return rows;
}
