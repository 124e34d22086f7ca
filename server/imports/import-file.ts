import { createHash } from 'node:crypto';
import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import { afterImport } from './after-import.ts';
import { listedLines } from './csv/notes.ts';
import { ProblemList } from './csv/problems.ts';
import type { Answers } from './csv/questions.ts';
import { Reading, readRows } from './csv/read-rows.ts';
import { settledBy } from './csv/settled.ts';
import type { FileKind } from './files/file-kind.ts';
import { importKnownLog, knownLog } from './foreign-log.ts';
import type { ImportOutcome } from './import-outcome.ts';
import { Staging } from './staging.ts';

/** Called in the import's transaction before it is committed, to follow up on what changed. */
export type AfterImport = typeof afterImport;

export interface FileToImport {
  fileName: string;
  kind: FileKind;
  /** The file's bytes from the beginning; may be called more than once. */
  open(): AsyncIterable<Uint8Array>;
  /** What was answered about this file. */
  answers?: Answers;
}

/**
 * Imports one file: all of it, or, when anything is wrong with it, nothing, with each problem listed. Importing a
 * file again changes nothing; a changed row updates; nothing is ever deleted by an import.
 *
 * The file is read as a stream. Imports into one conference wait for each other.
 */
export async function importFile(
  pool: pg.Pool,
  by: Acting,
  file: FileToImport,
  after: AfterImport = afterImport,
): Promise<ImportOutcome> {
  return transaction(pool, by, async (client) => {
    const outcome = await intoDatabase(client, by, file, after);
    outcome.applied = outcome.fits;
    return { result: outcome, commit: outcome.fits };
  });
}

/**
 * What importing these files one after the other would do, up to the first that has a problem, without doing it:
 * `added`, `changed` and `unchanged` are what they would be.
 */
export async function checkFiles(
  pool: pg.Pool,
  by: Acting,
  files: readonly FileToImport[],
): Promise<ImportOutcome[]> {
  return transaction(pool, by, async (client) => {
    const outcomes: ImportOutcome[] = [];
    for (const file of files) {
      const outcome = await intoDatabase(client, by, file, afterImport);
      outcomes.push(outcome);
      if (!outcome.fits) break;
      await client.query('DROP TABLE IF EXISTS staged');
    }
    return { result: outcomes, commit: false };
  });
}

/** A transaction that other imports into the conference wait for. */
async function transaction<Result>(
  pool: pg.Pool,
  { conferenceId }: Acting,
  work: (client: pg.PoolClient) => Promise<{ result: Result; commit: boolean }>,
): Promise<Result> {
  const client = await pool.connect();
  let broken = false;
  try {
    await client.query('BEGIN');
    await client.query(`SELECT pg_advisory_xact_lock(hashtextextended('import ' || $1, 0))`, [conferenceId]);
    const { result, commit } = await work(client);
    await client.query(commit ? 'COMMIT' : 'ROLLBACK');
    return result;
  } catch (error) {
    broken = true;
    await client.query('ROLLBACK').catch(() => undefined);
    throw error;
  } finally {
    client.release(broken);
  }
}

/** Puts a file's rows into their tables, unless something is wrong; whether that stays is the transaction's matter. */
async function intoDatabase(
  client: pg.PoolClient,
  by: Acting,
  { kind, fileName, open, answers }: FileToImport,
  after: AfterImport,
): Promise<ImportOutcome> {
  const known = await knownLog(client, by.conferenceId, { kind, open });
  if (known !== undefined) return importKnownLog(client, by, fileName, known);
  const problems = new ProblemList();
  const reading = new Reading({ ...(await settledBy(open, kind.format)), ...answers });
  const hash = createHash('sha256');
  const stage = await kind.open(client, by.conferenceId);
  const staging = await Staging.begin(client, kind);
  let present: ReadonlySet<string> = new Set();
  try {
    for await (const read of readRows(hashed(open(), hash), kind.format, problems, reading)) {
      present = read.present;
      const values = stage(read.row, (column, value, problem, fix) => {
        const heading = kind.format.columns[column]?.heading ?? column;
        problems.add({ line: read.line, column: heading, value, problem, fix });
      });
      if (values !== undefined) await staging.add(read.line, values);
    }
    await staging.end();
  } catch (error) {
    await staging.abandon().catch(() => undefined);
    throw error;
  }
  for (const line of await staging.withoutRepeats())
    reading.notes.add('This line repeats an earlier one and was read once.', line);
  const { listed, count } = await staging.duplicates(listedLines);
  problems.addMany(listed, count);
  if (kind.check !== undefined) problems.addMany(await kind.check(client, by.conferenceId));

  const outcome: ImportOutcome = {
    kind: kind.format.name,
    fileName,
    applied: false,
    fits: problems.count === 0 && reading.open.listed.length === 0,
    readAs: reading.found,
    notes: reading.notes.listed,
    questions: reading.open.listed,
    rows: staging.rows,
    added: 0,
    changed: 0,
    unchanged: 0,
    problems: problems.listed,
    moreProblems: problems.unlisted,
    problemGroups: problems.groups,
    playLogsChanged: [],
    recounted: [],
  };
  if (!outcome.fits) return outcome;
  const {
    added,
    changed,
    playLogsChanged = [],
  } = await kind.merge(client, by.conferenceId, present, by.personId);
  const unchanged = staging.rows - added - changed;
  Object.assign(outcome, { added, changed, unchanged, playLogsChanged });
  const sha256 = hash.digest('hex');
  await client.query(
    `INSERT INTO import_file (conference_id, kind, file_name, sha256, added, changed, unchanged, imported_by)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
    [by.conferenceId, outcome.kind, fileName, sha256, added, changed, unchanged, by.personId],
  );
  await after(client, by, outcome, sha256);
  return outcome;
}

async function* hashed(
  source: AsyncIterable<Uint8Array>,
  hash: ReturnType<typeof createHash>,
): AsyncGenerator<Uint8Array> {
  for await (const chunk of source) {
    hash.update(chunk);
    yield chunk;
  }
}
