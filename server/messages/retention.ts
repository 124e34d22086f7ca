import type pg from 'pg';

/** What was told is kept for a season and until the next one's end. */
export const daysKept = 400;

/**
 * Removes what was told long ago and is settled. Invitations and letters stay: their pages say when each was mailed.
 * What still waits, or failed, waits for somebody to look.
 * @returns how many were removed.
 */
export async function removeOldMessages(pool: pg.Pool): Promise<number> {
  const { rowCount } = await pool.query(
    `DELETE FROM message
      WHERE mail IN ('sent', 'not mailed') AND kind NOT IN ('invitation', 'letter')
        AND happened_at < now() - make_interval(days => $1)`,
    [daysKept],
  );
  return rowCount ?? 0;
}
