import type { Database } from '../database/database.ts';
import type { Queryable } from '../database/transaction.ts';
import { type Duty, dutyCategories, dutySchema } from '../duties/duty.ts';
import type { Code } from '../football/codes.ts';
import { type Practices, practicesSchema } from '../football/practices.ts';
import { notFound } from '../web/problem.ts';
import type { CountedRubric, PlayingRules, Rubric, RubricVersion } from './rubric.ts';

const weightColumns = `jsonb_build_object('none', v.none_weight, 'yards', v.yards_weight,
  'possession', v.possession_weight, 'score', v.score_weight) AS "consequenceWeights"`;

const versionColumns = `v.id, v.number, v.note, v.created_at AS "createdAt", v.code, v.practices, ${weightColumns},
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
  return rows.map(withPractices);
}

/** Practices that came later than the version take their usual value. */
function withPractices<V extends { practices: unknown }>(version: V): V & { practices: Practices } {
  return { ...version, practices: practicesSchema.parse(version.practices) };
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
  return {
    ...withPractices(version),
    duties: inOrder(dutyRows.map((row) => dutySchema.parse(row.definition))),
  };
}

/** The same where there has to be one. @throws Problem 404 without one. */
export async function requireRubric(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
  number?: number,
): Promise<Rubric> {
  const rubric = await readRubric(client, conferenceId, seasonId, number);
  if (rubric === undefined) throw notFound('rubric');
  return rubric;
}

function inOrder(duties: readonly Duty[]): Duty[] {
  const place = (duty: Duty) => dutyCategories.indexOf(duty.category);
  return [...duties].sort(
    (a, b) => place(a) - place(b) || b.weight - a.weight || (a.title < b.title ? -1 : 1),
  );
}

/** Whether a season has a rubric yet. */
export async function hasRubric(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  seasonId: string,
): Promise<boolean> {
  const any = await prisma.rubricVersion.findFirst({
    where: { conferenceId, seasonId },
    select: { number: true },
  });
  return any !== null;
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

/** A version's duties, rules book and practices, by its id: what a report filed with it is counted by. */
export async function readCountedRubric(
  client: Queryable,
  conferenceId: string,
  versionId: string,
): Promise<CountedRubric> {
  const { rows: versions } = await client.query<PlayingRules>(
    'SELECT code, practices FROM rubric_version WHERE conference_id = $1 AND id = $2',
    [conferenceId, versionId],
  );
  const { rows } = await client.query<{ definition: unknown }>(
    'SELECT definition FROM duty WHERE conference_id = $1 AND rubric_version_id = $2 ORDER BY category, key',
    [conferenceId, versionId],
  );
  const { code, practices } = withPractices(versions[0]!);
  return { code, practices, duties: rows.map((row) => dutySchema.parse(row.definition)) };
}

/** The rules book a season is played by: that of its rubric, or of the conference while it has none. */
export async function codeOfSeason(client: Queryable, conferenceId: string, seasonId: string): Promise<Code> {
  const { rows } = await client.query<{ code: Code }>(
    `SELECT coalesce((SELECT v.code FROM rubric_version v WHERE v.conference_id = c.id AND v.season_id = $2
                       ORDER BY v.number DESC LIMIT 1), c.code) AS code
       FROM conference c WHERE c.id = $1`,
    [conferenceId, seasonId],
  );
  return rows[0]!.code;
}
