import type pg from 'pg';

export type GameLine = {
  id: string;
  key: string;
  week: number;
  kickoff: Date;
  timeZone: string;
  home: string;
  visitor: string;
  venue: string;
  crew: string | null;
  plays: number;
  reports: { id: string; observer: string; state: string }[];
};

/** Every game of a season, in the order of kickoff, with its reports and their states. */
export async function readSeasonGames(
  db: Pick<pg.Pool, 'query'>,
  conferenceId: string,
  seasonId: string,
): Promise<GameLine[]> {
  const { rows } = await db.query<GameLine>(
    `SELECT g.id, g.key, g.week, g.kickoff, v.time_zone AS "timeZone", teams.home, teams.visitor,
            v.name AS venue, c.name AS crew,
            (SELECT count(*)::int FROM play p
              WHERE p.conference_id = g.conference_id AND p.game_id = g.id AND p.removed_at IS NULL) AS plays,
            COALESCE((SELECT jsonb_agg(jsonb_build_object('id', r.id, 'state', r.state,
                                         'observer', o.given_name || ' ' || o.family_name) ORDER BY o.family_name)
                        FROM report r JOIN person o ON o.conference_id = r.conference_id AND o.id = r.observer_id
                       WHERE r.conference_id = g.conference_id AND r.game_id = g.id), '[]') AS reports
       FROM game g
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
       LEFT JOIN crew c ON c.conference_id = g.conference_id AND c.id = g.crew_id
      WHERE g.conference_id = $1 AND g.season_id = $2
      ORDER BY g.week, g.kickoff, g.key`,
    [conferenceId, seasonId],
  );
  return rows;
}
