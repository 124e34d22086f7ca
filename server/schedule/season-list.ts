import type { Queryable } from '../database/transaction.ts';
import type { SeasonState } from './season-states.ts';

type SeasonLine = {
  id: string;
  name: string;
  state: SeasonState;
  isCurrent: boolean;
  crewSize: number;
  closedAt: Date | null;
  openedFrom: string | null;
  weeks: number;
  firstDay: string | null;
  lastDay: string | null;
  crews: number;
  games: number;
  reports: number;
  released: number;
  /** People asked when they are away, and those of them who answered. */
  asked: number;
  answered: number;
};

/** The conference's seasons, newest first, with what there is in each. */
export async function readSeasonLines(db: Queryable, conferenceId: string): Promise<SeasonLine[]> {
  const { rows } = await db.query<SeasonLine>(
    `SELECT s.id, s.name, s.state, s.id = c.current_season_id AS "isCurrent", s.crew_size AS "crewSize",
            s.closed_at AS "closedAt", f.name AS "openedFrom", w.weeks, w.first_day AS "firstDay",
            w.last_day AS "lastDay",
            (SELECT count(*)::int FROM crew x WHERE x.conference_id = s.conference_id AND x.season_id = s.id) AS crews,
            (SELECT count(*)::int FROM game g WHERE g.conference_id = s.conference_id AND g.season_id = s.id) AS games,
            r.reports, r.released, a.asked, a.answered
       FROM season s
       JOIN conference c ON c.id = s.conference_id
       LEFT JOIN season f ON f.conference_id = s.conference_id AND f.id = s.opened_from_id
       CROSS JOIN LATERAL (SELECT count(*)::int AS weeks, min(first_day)::text AS first_day, max(last_day)::text AS last_day
                             FROM season_week w WHERE w.conference_id = s.conference_id AND w.season_id = s.id) w
       CROSS JOIN LATERAL (SELECT count(*)::int AS reports, (count(*) FILTER (WHERE r.state = 'released'))::int AS released
                             FROM report r WHERE r.conference_id = s.conference_id AND r.season_id = s.id) r
       CROSS JOIN LATERAL (SELECT count(*)::int AS asked, count(answered_at)::int AS answered
                             FROM season_availability a WHERE a.conference_id = s.conference_id AND a.season_id = s.id) a
      WHERE s.conference_id = $1 ORDER BY s.created_at DESC, s.name DESC`,
    [conferenceId],
  );
  return rows;
}
