import type { Queryable } from '../../database/transaction.ts';
import { handedInStates } from '../../schedule/open-states.ts';
import type { ReportState } from '../states.ts';

interface ObserverGame {
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
      ORDER BY COALESCE(r.state IN ${handedInStates}, false), g.kickoff, g.key`,
    [conferenceId, observerId],
  );
  return rows;
}
