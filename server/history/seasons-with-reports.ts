import type { Queryable } from '../database/transaction.ts';

/** A season of which something can be told: a report of it was released. */
export interface PastSeason {
  readonly id: string;
  readonly name: string;
  /** Not all of its reports are there yet. */
  readonly isOpen: boolean;
}

/** The conference's seasons with a released report, in the order in which they were played. */
export async function seasonsWithReports(db: Queryable, conferenceId: string): Promise<PastSeason[]> {
  const { rows } = await db.query<PastSeason>(
    `SELECT s.id, s.name, s.state <> 'closed' AS "isOpen"
       FROM season s
       JOIN LATERAL (SELECT min(g.kickoff) AS first FROM game g
                      WHERE g.conference_id = $1 AND g.season_id = s.id
                        AND EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.game_id = g.id
                                       AND r.state = 'released')) played ON played.first IS NOT NULL
      WHERE s.conference_id = $1 ORDER BY played.first, s.name`,
    [conferenceId],
  );
  return rows;
}
