import type { Queryable } from '../database/transaction.ts';
import type { Duty } from './duty.ts';

/**
 * Adds a rubric version to a season, numbered after the last. Versions are never changed: a filed report keeps the
 * one it was filed under.
 *
 * @returns the version's id.
 */
export async function saveRubricVersion(
  client: Queryable,
  of: { conferenceId: string; seasonId: string; createdBy: string | null; note: string },
  duties: readonly Duty[],
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO rubric_version (conference_id, season_id, number, note, created_by)
     SELECT $1, $2, COALESCE(max(number), 0) + 1, $3, $4
       FROM rubric_version WHERE conference_id = $1 AND season_id = $2
     RETURNING id`,
    [of.conferenceId, of.seasonId, of.note, of.createdBy],
  );
  const id = rows[0]!.id;
  await client.query(
    `INSERT INTO duty (conference_id, rubric_version_id, key, title, category, graded_as, weight, definition)
     SELECT $1, $2, d->>'key', d->>'title', d->>'category', d->>'gradedAs', (d->>'weight')::double precision, d
       FROM jsonb_array_elements($3::jsonb) AS d`,
    [of.conferenceId, id, JSON.stringify(duties)],
  );
  return id;
}
