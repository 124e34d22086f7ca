import type pg from 'pg';

/** Titles of a season's duties by key, in the wording of the newest rubric version that has the duty. */
export async function readDutyTitles(
  db: Pick<pg.Pool, 'query'>,
  conferenceId: string,
  seasonId: string,
): Promise<Map<string, string>> {
  const { rows } = await db.query<{ key: string; title: string }>(
    `SELECT d.key, d.title FROM duty d
       JOIN rubric_version v ON v.conference_id = d.conference_id AND v.id = d.rubric_version_id
      WHERE v.conference_id = $1 AND v.season_id = $2 ORDER BY v.number`,
    [conferenceId, seasonId],
  );
  return new Map(rows.map((row) => [row.key, row.title]));
}
