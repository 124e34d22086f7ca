import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { type Duty, dutyCategories, dutySchema } from '../duties/duty.ts';
import { checkDuty, type Refusal } from '../duties/refusals.ts';
import { startingRubric } from '../duties/starting-rubric.ts';
import { dutyFingerprint } from './duty-fingerprint.ts';

export interface RubricVersion {
  readonly id: string;
  readonly number: number;
  readonly note: string;
  readonly createdAt: Date;
  /** Reports filed with it: with one or more it can no longer change. */
  readonly filedReports: number;
}

export interface Rubric extends RubricVersion {
  /** By category, heaviest first. */
  readonly duties: readonly Duty[];
}

/** The change cannot be made; each refusal names the field and the fix. */
export class RubricChangeRefused extends Error {
  override name = 'RubricChangeRefused';
  constructor(readonly refusals: readonly Refusal[]) {
    super(refusals.map(({ field, reason }) => `${field}: ${reason}`).join('; '));
  }
}

/** Somebody changed the duty in the meantime. */
export class RubricChangedMeanwhile extends Error {
  override name = 'RubricChangedMeanwhile';
  constructor(readonly current: Duty | undefined) {
    super(
      current === undefined
        ? 'The duty was removed in the meantime.'
        : 'The duty was changed in the meantime; look at it as it is now and make your change again.',
    );
  }
}

/** Where a season's first rubric comes from: the starting one, or that of another season. */
export type RubricSource = 'starting' | { readonly seasonId: string };

/**
 * Gives a season its first rubric: a copy of the starting one, or of another season's as it is now. A season that has
 * a rubric keeps it. @returns the current version's id.
 * @throws RubricChangeRefused when the other season has no rubric.
 */
export async function startRubric(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  from: RubricSource = 'starting',
): Promise<string> {
  const current = await lockCurrentVersion(client, conferenceId, seasonId);
  if (current !== undefined) return current.id;
  const { duties, note } = await firstDuties(client, conferenceId, from);
  const id = await insertVersion(client, { conferenceId, personId }, seasonId, 1, note);
  await insertDuties(client, conferenceId, id, duties);
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'began the rubric',
    subjectKind: 'season',
    subjectId: seasonId,
    after: { from: from === 'starting' ? 'the starting rubric' : from.seasonId, duties: duties.length },
  });
  return id;
}

async function firstDuties(client: Queryable, conferenceId: string, from: RubricSource) {
  if (from === 'starting') return { duties: startingRubric, note: 'First rubric of the season' };
  const rubric = await readRubric(client, conferenceId, from.seasonId);
  if (rubric === undefined) {
    throw new RubricChangeRefused([{ field: 'from', reason: 'that season has no rubric to take over' }]);
  }
  const { rows } = await client.query<{ name: string }>(
    'SELECT name FROM season WHERE conference_id = $1 AND id = $2',
    [conferenceId, from.seasonId],
  );
  return { duties: rubric.duties, note: `Taken over from ${rows[0]!.name}` };
}

/** Whether a season has a rubric yet. */
export async function hasRubric(db: Queryable, conferenceId: string, seasonId: string): Promise<boolean> {
  const { rowCount } = await db.query(
    'SELECT FROM rubric_version WHERE conference_id = $1 AND season_id = $2 LIMIT 1',
    [conferenceId, seasonId],
  );
  return rowCount === 1;
}

/** The other seasons that have a rubric to take over, newest first. */
export async function rubricsToTakeOver(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<{ seasonId: string; name: string; duties: number }[]> {
  const { rows } = await db.query<{ seasonId: string; name: string; duties: number }>(
    `SELECT s.id AS "seasonId", s.name,
            (SELECT count(*)::int FROM duty d WHERE d.conference_id = v.conference_id
                AND d.rubric_version_id = v.id) AS duties
       FROM season s
       JOIN LATERAL (SELECT * FROM rubric_version r WHERE r.conference_id = s.conference_id AND r.season_id = s.id
                      ORDER BY r.number DESC LIMIT 1) v ON true
      WHERE s.conference_id = $1 AND s.id <> $2 ORDER BY s.created_at DESC`,
    [conferenceId, seasonId],
  );
  return rows;
}

const versionColumns = `v.id, v.number, v.note, v.created_at AS "createdAt",
  (SELECT count(*)::int FROM report r
    WHERE r.conference_id = v.conference_id AND r.rubric_version_id = v.id) AS "filedReports"`;

/** Every version of a season's rubric, newest first. */
export async function readVersions(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<RubricVersion[]> {
  const { rows } = await client.query<RubricVersion>(
    `SELECT ${versionColumns} FROM rubric_version v
      WHERE v.conference_id = $1 AND v.season_id = $2 ORDER BY v.number DESC`,
    [conferenceId, seasonId],
  );
  return rows;
}

/** A season's rubric: the newest version, or the one of that number. */
export async function readRubric(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
  number?: number,
): Promise<Rubric | undefined> {
  const { rows } = await client.query<RubricVersion>(
    `SELECT ${versionColumns} FROM rubric_version v
      WHERE v.conference_id = $1 AND v.season_id = $2 AND ($3::int IS NULL OR v.number = $3)
      ORDER BY v.number DESC LIMIT 1`,
    [conferenceId, seasonId, number ?? null],
  );
  const version = rows[0];
  if (version === undefined) return undefined;
  const { rows: dutyRows } = await client.query<{ definition: unknown }>(
    'SELECT definition FROM duty WHERE conference_id = $1 AND rubric_version_id = $2',
    [conferenceId, version.id],
  );
  return { ...version, duties: inOrder(dutyRows.map((row) => dutySchema.parse(row.definition))) };
}

function inOrder(duties: readonly Duty[]): Duty[] {
  const place = (duty: Duty) => dutyCategories.indexOf(duty.category);
  return [...duties].sort(
    (a, b) => place(a) - place(b) || b.weight - a.weight || (a.title < b.title ? -1 : 1),
  );
}

export type RubricChange =
  | { readonly kind: 'add'; readonly duty: unknown }
  /** `seen` is the fingerprint of the duty that the change was based on. */
  | { readonly kind: 'change'; readonly key: string; readonly seen: string; readonly duty: unknown }
  | { readonly kind: 'remove'; readonly key: string; readonly seen: string };

export interface RubricChanged {
  readonly versionId: string;
  readonly number: number;
  /** A report was filed with the version before, which therefore stays as it was. */
  readonly newVersion: boolean;
}

/**
 * Adds, changes or removes one duty of a season's rubric, in the caller's transaction. While no report was filed
 * with the current version it is changed itself; afterwards a new version is made and filed reports keep theirs.
 * @throws RubricChangeRefused, RubricChangedMeanwhile
 */
export async function changeRubric(
  client: Queryable,
  actor: Acting,
  seasonId: string,
  change: RubricChange,
  note = '',
): Promise<RubricChanged> {
  const { conferenceId } = actor;
  const version = await lockCurrentVersion(client, conferenceId, seasonId);
  if (version === undefined) {
    throw new RubricChangeRefused([{ field: 'season', reason: 'the season has no rubric yet' }]);
  }
  const before = await dutyOf(client, conferenceId, version.id, keyOf(change));
  const after = dutyAfter(change, before);

  const filed = await isFiledWith(client, conferenceId, version.id);
  const number = filed ? version.number + 1 : version.number;
  const versionId = filed ? await copyVersion(client, actor, seasonId, version.id, number, note) : version.id;
  if (before !== undefined) {
    await client.query('DELETE FROM duty WHERE conference_id = $1 AND rubric_version_id = $2 AND key = $3', [
      conferenceId,
      versionId,
      before.key,
    ]);
  }
  if (after !== undefined) await insertDuties(client, conferenceId, versionId, [after]);
  await appendAudit(client, {
    conferenceId,
    actorId: actor.personId,
    action: `duty ${change.kind === 'add' ? 'added' : change.kind === 'change' ? 'changed' : 'removed'}`,
    subjectKind: 'rubric_version',
    subjectId: versionId,
    reason: note === '' ? null : note,
    before,
    after,
  });
  return { versionId, number, newVersion: filed };
}

function keyOf(change: RubricChange): string {
  if (change.kind !== 'add') return change.key;
  const key = (change.duty as { key?: unknown } | null | undefined)?.key;
  return typeof key === 'string' ? key : '';
}

function dutyAfter(change: RubricChange, before: Duty | undefined): Duty | undefined {
  if (change.kind !== 'add' && (before === undefined || dutyFingerprint(before) !== change.seen)) {
    throw new RubricChangedMeanwhile(before);
  }
  if (change.kind === 'remove') return undefined;
  const check = checkDuty(change.duty);
  const refusals = check.ok ? [] : [...check.refusals];
  if (change.kind === 'add' && before !== undefined) {
    refusals.push({ field: 'key', reason: `there is a duty "${before.key}" already; choose another key` });
  }
  if (change.kind === 'change' && check.ok && check.duty.key !== change.key) {
    refusals.push({ field: 'key', reason: `stays "${change.key}": observations refer to it` });
  }
  if (!check.ok || refusals.length > 0) throw new RubricChangeRefused(refusals);
  return check.duty;
}

// The lock orders changes one after another, and makes a change wait for reports that are being filed with the
// version, which hold it by a key-share lock.
async function lockCurrentVersion(client: Queryable, conferenceId: string, seasonId: string) {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended('rubric ' || $1, 0))", [seasonId]);
  const { rows } = await client.query<{ id: string; number: number }>(
    `SELECT id, number FROM rubric_version WHERE conference_id = $1 AND season_id = $2
      ORDER BY number DESC LIMIT 1 FOR UPDATE`,
    [conferenceId, seasonId],
  );
  return rows[0];
}

async function isFiledWith(client: Queryable, conferenceId: string, versionId: string): Promise<boolean> {
  const { rows } = await client.query<{ filed: boolean }>(
    `SELECT EXISTS (SELECT FROM report WHERE conference_id = $1 AND rubric_version_id = $2) AS filed`,
    [conferenceId, versionId],
  );
  return rows[0]!.filed;
}

async function dutyOf(
  client: Queryable,
  conferenceId: string,
  versionId: string,
  key: string,
): Promise<Duty | undefined> {
  const { rows } = await client.query<{ definition: unknown }>(
    'SELECT definition FROM duty WHERE conference_id = $1 AND rubric_version_id = $2 AND key = $3',
    [conferenceId, versionId, key],
  );
  return rows[0] && dutySchema.parse(rows[0].definition);
}

async function copyVersion(
  client: Queryable,
  actor: Acting,
  seasonId: string,
  fromId: string,
  number: number,
  note: string,
): Promise<string> {
  const id = await insertVersion(client, actor, seasonId, number, note);
  await client.query(
    `INSERT INTO duty (conference_id, rubric_version_id, key, title, category, graded_as, weight, definition)
     SELECT conference_id, $3, key, title, category, graded_as, weight, definition
       FROM duty WHERE conference_id = $1 AND rubric_version_id = $2`,
    [actor.conferenceId, fromId, id],
  );
  return id;
}

async function insertVersion(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  number: number,
  note: string,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO rubric_version (conference_id, season_id, number, note, created_by)
     VALUES ($1, $2, $3, $4, $5) RETURNING id`,
    [conferenceId, seasonId, number, note, personId],
  );
  return rows[0]!.id;
}

async function insertDuties(
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
