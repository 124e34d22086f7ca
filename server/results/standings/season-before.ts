import type { Queryable } from '../../database/transaction.ts';

/** The season before another, and how often what it counts has changed. */
export type SeasonBefore = readonly [id: string, inputRevision: number, name: string];

/**
 * Of a row `s` of `season`: the one that it was opened from, or else the one whose last week ended last before its first.
 */
const before = `coalesce(s.opened_from_id, (
  SELECT w.season_id FROM season_week w WHERE w.conference_id = s.conference_id GROUP BY w.season_id
  HAVING max(w.last_day) < (SELECT min(first_day) FROM season_week
                             WHERE conference_id = s.conference_id AND season_id = s.id)
   ORDER BY max(w.last_day) DESC LIMIT 1))`;

/**
 * An SQL expression of a row `s` of `season`: the season that its grades borrow strength from, as jsonb; NULL where they go
 * by this season alone, or there is none before.
 */
export const seasonBorrowedFrom = `CASE WHEN s.last_season_in_grades THEN (
            SELECT jsonb_build_array(o.id, o.input_revision, o.name) FROM season o
             WHERE o.conference_id = s.conference_id AND o.id = ${before}) END`;

/** The season whose reports this one's grades borrow strength from; null where they go by this season alone. */
export async function readSeasonBorrowedFrom(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<SeasonBefore | null> {
  const { rows } = await db.query<{ of: SeasonBefore | null }>(
    `SELECT ${seasonBorrowedFrom} AS of FROM season s WHERE s.conference_id = $1 AND s.id = $2`,
    [conferenceId, seasonId],
  );
  return rows[0]?.of ?? null;
}

/** The name of the season before this one, whether its grades are taken in or not; null where there is none. */
export async function nameOfSeasonBefore(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<string | null> {
  const { rows } = await db.query<{ name: string }>(
    `SELECT o.name FROM season s JOIN season o ON o.conference_id = s.conference_id AND o.id = ${before}
      WHERE s.conference_id = $1 AND s.id = $2`,
    [conferenceId, seasonId],
  );
  return rows[0]?.name ?? null;
}
