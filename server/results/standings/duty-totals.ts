import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';

/** What one official's released games of a season count of one duty, those not seen or not told left out. */
export interface DutyTotal {
  personId: string;
  position: Position;
  dutyKey: string;
  opportunities: number;
  misses: number;
}

/** Everybody's totals, in one position or all: what an official's own are held beside. */
export async function readDutyTotals(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  position: Position | null = null,
): Promise<DutyTotal[]> {
  const { rows } = await db.query<DutyTotal>(
    `SELECT c.person_id AS "personId", c.position, c.duty_key AS "dutyKey",
            sum(c.opportunities - c.not_counted)::int AS opportunities, sum(c.not_met)::int AS misses
       FROM game g JOIN game_count c ON c.conference_id = g.conference_id AND c.game_id = g.id
      WHERE g.conference_id = $1 AND g.season_id = $2 AND ($3::text IS NULL OR c.position = $3)
      GROUP BY c.person_id, c.position, c.duty_key
     HAVING sum(c.opportunities - c.not_counted) > 0`,
    [conferenceId, seasonId, position],
  );
  return rows;
}
