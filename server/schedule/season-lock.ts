import type { Queryable } from '../database/transaction.ts';
import { notFound } from '../web/problem.ts';

/** Open: being prepared. Running: reports are written. Closed: over, to be read only. */
const seasonStates = ['open', 'running', 'closed'] as const;
export type SeasonState = (typeof seasonStates)[number];

type LockedSeason = { id: string; name: string; state: SeasonState; isCurrent: boolean };

/** Holds the season until the transaction ends, against whoever writes into it as well. @throws Problem 404. */
export async function lockSeason(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<LockedSeason> {
  const { rows } = await client.query<LockedSeason>(
    `SELECT s.id, s.name, s.state, c.current_season_id IS NOT DISTINCT FROM s.id AS "isCurrent"
       FROM season s JOIN conference c ON c.id = s.conference_id
      WHERE s.conference_id = $1 AND s.id = $2 FOR UPDATE OF s`,
    [conferenceId, seasonId],
  );
  if (!rows[0]) throw notFound('season');
  return rows[0];
}
