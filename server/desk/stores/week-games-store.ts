import type { Queryable } from '../../database/transaction.ts';

/** A game of a week, and how far it has come. */
export interface WeekGame {
  readonly id: string;
  readonly game: string;
  readonly kickoff: Date;
  readonly timeZone: string;
  readonly venue: string;
  readonly crew: string | null;
  readonly crewConfirmed: boolean;
  readonly film: boolean;
  readonly plays: number;
  readonly wanted: number;
  readonly observers: readonly { readonly name: string; readonly answer: 'offered' | 'accepted' }[];
  readonly reports: readonly { readonly id: string; readonly state: string; readonly observer: string }[];
}

/** The games of a week of a season in the order of kickoff. */
export async function readWeekGames(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  week: number,
): Promise<WeekGame[]> {
  const { rows } = await db.query<WeekGame>(
    `SELECT g.id, t.title AS game, g.kickoff, v.time_zone AS "timeZone", v.name AS venue, c.name AS crew,
            g.crew_confirmed_at IS NOT NULL AS "crewConfirmed", coalesce(g.film_link, '') <> '' AS film,
            coalesce(w.observers_wanted, p.observers_per_game, 1) AS wanted,
            (SELECT count(*)::int FROM play l
              WHERE l.conference_id = $1 AND l.game_id = g.id AND l.removed_at IS NULL) AS plays,
            (SELECT coalesce(jsonb_agg(jsonb_build_object('name', o.given_name || ' ' || o.family_name,
                                                          'answer', a.answer) ORDER BY a.offered_at, a.id), '[]')
               FROM observer_assignment a JOIN person o ON o.conference_id = $1 AND o.id = a.observer_id
              WHERE a.conference_id = $1 AND a.game_id = g.id AND a.answer <> 'declined') AS observers,
            (SELECT coalesce(jsonb_agg(jsonb_build_object('id', r.id, 'state', r.state, 'observer',
                                         o.given_name || ' ' || o.family_name) ORDER BY o.family_name, r.id), '[]')
               FROM report r JOIN person o ON o.conference_id = $1 AND o.id = r.observer_id
              WHERE r.conference_id = $1 AND r.game_id = g.id) AS reports
       FROM game g
       JOIN venue v ON v.conference_id = $1 AND v.id = g.venue_id
       JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
       LEFT JOIN crew c ON c.conference_id = $1 AND c.id = g.crew_id
       LEFT JOIN game_coverage w ON w.conference_id = $1 AND w.game_id = g.id
       LEFT JOIN observer_plan_setting p ON p.conference_id = $1 AND p.season_id = $2
      WHERE g.conference_id = $1 AND g.season_id = $2 AND g.week = $3
      ORDER BY g.kickoff, g.key`,
    [conferenceId, seasonId, week],
  );
  return rows;
}
