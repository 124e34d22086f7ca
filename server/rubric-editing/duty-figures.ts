import type { Queryable } from '../database/transaction.ts';
import type { Position } from '../football/positions.ts';

/** How often a duty came up for one position in the season's filed reports. */
export interface DutyFigures {
  readonly opportunities: number;
  /** Opportunities in an average game. */
  readonly perGame: number;
}

/** By duty key; over the reports filed, accepted or released so far. */
export async function readDutyFigures(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  position: Position,
): Promise<Map<string, DutyFigures>> {
  const { rows } = await db.query<{ key: string; opportunities: number; reports: number }>(
    `WITH counted AS (
       SELECT r.id FROM report r
        WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state IN ('filed', 'accepted', 'released'))
     SELECT c.duty_key AS key, sum(c.opportunities)::int AS opportunities, (SELECT count(*)::int FROM counted) AS reports
       FROM counted JOIN opportunity_count c ON c.conference_id = $1 AND c.report_id = counted.id AND c.position = $3
      GROUP BY c.duty_key`,
    [conferenceId, seasonId, position],
  );
  return new Map(
    rows.map(({ key, opportunities, reports }) => [key, { opportunities, perGame: opportunities / reports }]),
  );
}
