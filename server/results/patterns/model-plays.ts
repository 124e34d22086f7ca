import type { Queryable } from '../../database/transaction.ts';

interface ModelPlays {
  personId: string;
  position: string;
  dutyKey: string;
  plays: number;
}

/** Model plays of a season by official and duty, most first, twenty at most. */
export async function readModelPlays(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ModelPlays[]> {
  const { rows } = await db.query<ModelPlays>(
    `SELECT c.person_id AS "personId", c.position, c.duty_key AS "dutyKey", sum(c.model)::int AS plays
         FROM game g JOIN game_count c ON c.conference_id = g.conference_id AND c.game_id = g.id
        WHERE g.conference_id = $1 AND g.season_id = $2 AND c.model > 0
        GROUP BY c.person_id, c.position, c.duty_key ORDER BY plays DESC, c.duty_key, c.person_id LIMIT 20`,
    [conferenceId, seasonId],
  );
  return rows;
}
