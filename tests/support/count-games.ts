import type pg from 'pg';
import { inTransaction } from '../../server/database/transaction.ts';
import { keepGameCount } from '../../server/reports/filing/game-count.ts';

/** Counts these games again, for tests that write counts of reports by hand. Each takes some 50 ms of processor time. */
export async function countGames(
  pool: pg.Pool,
  conferenceId: string,
  gameIds: readonly string[],
): Promise<void> {
  for (const id of gameIds) await inTransaction(pool, (client) => keepGameCount(client, conferenceId, id));
}

/**
 * Releases the accepted report with the lowest id, by SQL, and counts its game.
 * @returns the report's id
 */
export async function releaseAccepted(pool: pg.Pool, conferenceId: string): Promise<string> {
  const { rows } = await pool.query<{ id: string; gameId: string }>(
    `UPDATE report SET state = 'released', released_at = now()
      WHERE id = (SELECT id FROM report WHERE conference_id = $1 AND state = 'accepted' ORDER BY id LIMIT 1)
      RETURNING id, game_id AS "gameId"`,
    [conferenceId],
  );
  const { id, gameId } = rows[0]!;
  await countGames(pool, conferenceId, [gameId]);
  return id;
}

/** SQL: whether a report with the alias `r` is its game's only released one, so that its counts are its game's. */
export const onlyReport = `NOT EXISTS (SELECT FROM report other WHERE other.game_id = r.game_id AND other.id <> r.id
                                          AND other.state = 'released')`;
