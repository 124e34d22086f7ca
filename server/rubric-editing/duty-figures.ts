import type { Queryable } from '../database/transaction.ts';
import type { Position } from '../football/positions.ts';
import { handedInStates } from '../schedule/open-states.ts';

/** How often a duty came up for one position in the season's filed reports. */
interface DutyFigures {
  readonly opportunities: number;
  /** Opportunities in an average game. */
  readonly perGame: number;
}

/**
 * By duty key; over the games with a report filed, accepted or released so far. Of several reports on a game the one with
 * most chances is taken.
 */
export async function readDutyFigures(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  position: Position,
): Promise<Map<string, DutyFigures>> {
  const { rows } = await db.query<{ key: string; opportunities: number; games: number }>(
    `WITH counted AS (
       SELECT r.id, r.game_id FROM report r
        WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state IN ${handedInStates}),
     by_game AS (
       SELECT c.duty_key, counted.game_id, max(c.opportunities) AS opportunities
         FROM counted JOIN opportunity_count c ON c.conference_id = $1 AND c.report_id = counted.id AND c.position = $3
        GROUP BY c.duty_key, counted.game_id)
     SELECT duty_key AS key, sum(opportunities)::int AS opportunities,
            (SELECT count(DISTINCT game_id)::int FROM counted) AS games
       FROM by_game GROUP BY duty_key`,
    [conferenceId, seasonId, position],
  );
  return new Map(
    rows.map(({ key, opportunities, games }) => [key, { opportunities, perGame: opportunities / games }]),
  );
}
