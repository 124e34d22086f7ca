import type { Queryable } from '../../database/transaction.ts';
import { type FollowUp, followUp } from '../../patterns/follow-up/follow-up.ts';
import type { DatedCount } from '../../patterns/follow-up/looks.ts';
import type { OfficialSpread } from '../../patterns/follow-up/official-spread.ts';
import { type DutyAtPosition, readDutyCounts } from './pattern-counts.ts';

/** What a development point is followed by, wherever it is shown: pages, API and letters. */
export interface PointCounts {
  rows: DatedCount[];
  spread: OfficialSpread;
  /** The season's last week with a game. */
  lastWeek: number;
}

export async function readPointCounts(
  db: Queryable,
  of: DutyAtPosition,
  spread: OfficialSpread,
): Promise<PointCounts> {
  const { rows } = await db.query<{ lastWeek: number | null }>(
    'SELECT max(week) AS "lastWeek" FROM game WHERE conference_id = $1 AND season_id = $2',
    [of.conferenceId, of.seasonId],
  );
  return { rows: await readDutyCounts(db, of), spread, lastWeek: rows[0]?.lastWeek ?? 0 };
}

/** @param told the day the official was told, YYYY-MM-DD */
export function followedSince(counts: PointCounts, official: string, told: string): FollowUp {
  return followUp({ ...counts, official, told });
}
