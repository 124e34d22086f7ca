import type { Acting } from '../accounts/acting.ts';
import type { Queryable } from '../database/transaction.ts';
import { type ConsequenceWeights, consequences } from '../duties/consequence.ts';
import type { Duty } from '../duties/duty.ts';
import { RubricChangeRefused } from './refusals.ts';
import type { PlayingRules } from './rubric.ts';

export interface RubricChanged {
  readonly versionId: string;
  readonly number: number;
  /** A report was filed with the version before, which therefore stays as it was. */
  readonly newVersion: boolean;
}

// The lock orders changes one after another, and makes a change wait for reports that are being filed with the
// version, which hold it by a key-share lock.
export async function lockCurrentVersion(client: Queryable, conferenceId: string, seasonId: string) {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended('rubric ' || $1, 0))", [seasonId]);
  const { rows } = await client.query<{ id: string; number: number }>(
    `SELECT id, number FROM rubric_version WHERE conference_id = $1 AND season_id = $2
      ORDER BY number DESC LIMIT 1 FOR UPDATE`,
    [conferenceId, seasonId],
  );
  return rows[0];
}

/**
 * The current version, locked for a change.
 * @throws RubricChangeRefused when the season has no rubric.
 */
export async function lockVersionToChange(client: Queryable, conferenceId: string, seasonId: string) {
  const version = await lockCurrentVersion(client, conferenceId, seasonId);
  if (version !== undefined) return version;
  throw new RubricChangeRefused([{ field: 'season', reason: 'the season has no rubric yet' }]);
}

/** The current version, or a copy of it with the next number when a report was filed with it. */
export async function versionToChange(
  client: Queryable,
  actor: Acting,
  version: { id: string; number: number },
  note: string,
): Promise<RubricChanged> {
  const filed = await isFiledWith(client, actor.conferenceId, version.id);
  if (!filed) return { versionId: version.id, number: version.number, newVersion: false };
  const number = version.number + 1;
  const versionId = await copyVersion(client, actor, version.id, number, note);
  return { versionId, number, newVersion: true };
}

async function isFiledWith(client: Queryable, conferenceId: string, versionId: string): Promise<boolean> {
  const { rows } = await client.query<{ filed: boolean }>(
    `SELECT EXISTS (SELECT FROM report WHERE conference_id = $1 AND rubric_version_id = $2) AS filed`,
    [conferenceId, versionId],
  );
  return rows[0]!.filed;
}

async function copyVersion(
  client: Queryable,
  actor: Acting,
  fromId: string,
  number: number,
  note: string,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO rubric_version (conference_id, season_id, number, note, created_by, code, practices,
                                 none_weight, yards_weight, possession_weight, score_weight)
     SELECT conference_id, season_id, $3, $4, $5, code, practices,
            none_weight, yards_weight, possession_weight, score_weight
       FROM rubric_version WHERE conference_id = $1 AND id = $2
     RETURNING id`,
    [actor.conferenceId, fromId, number, note, actor.personId],
  );
  const { id } = rows[0]!;
  await client.query(
    `INSERT INTO duty (conference_id, rubric_version_id, key, title, category, graded_as, weight, definition)
     SELECT conference_id, $3, key, title, category, graded_as, weight, definition
       FROM duty WHERE conference_id = $1 AND rubric_version_id = $2`,
    [actor.conferenceId, fromId, id],
  );
  return id;
}

export async function insertVersion(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  first: PlayingRules & { number: number; note: string; consequenceWeights: ConsequenceWeights },
): Promise<string> {
  const { number, note, code, practices, consequenceWeights: weights } = first;
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO rubric_version (conference_id, season_id, number, note, created_by, code, practices,
                                 none_weight, yards_weight, possession_weight, score_weight)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11) RETURNING id`,
    [
      conferenceId,
      seasonId,
      number,
      note,
      personId,
      code,
      JSON.stringify(practices),
      ...consequences.map((consequence) => weights[consequence]),
    ],
  );
  return rows[0]!.id;
}

export async function insertDuties(
  client: Queryable,
  conferenceId: string,
  versionId: string,
  duties: readonly Duty[],
): Promise<void> {
  await client.query(
    `INSERT INTO duty (conference_id, rubric_version_id, key, title, category, graded_as, weight, definition)
     SELECT $1, $2, d->>'key', d->>'title', d->>'category', d->>'gradedAs', (d->>'weight')::float8, d
       FROM jsonb_array_elements($3::jsonb) d`,
    [conferenceId, versionId, JSON.stringify(duties)],
  );
}
