import { createHash } from 'node:crypto';
import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import { afterImport } from './after-import.ts';
import { listedLines } from './csv/notes.ts';
import { ProblemList } from './csv/problems.ts';
import { Reading, readRows } from './csv/read-rows.ts';
import type { FileKind } from './files/file-kind.ts';
import type { ImportOutcome } from './import-outcome.ts';
import { Staging } from './staging.ts';

/** Called in the import's transaction before it is committed, to follow up on what changed. */
export type AfterImport = typeof afterImport;

/**
 * Imports one file: all of it, or, when anything is wrong with it, nothing, with each problem listed. Importing a
 * file again changes nothing; a changed row updates; nothing is ever deleted by an import.
 *
 * The file is read as a stream. Imports into one conference wait for each other.
 */
export async function importFile(
  pool: pg.Pool,
  by: Acting,
  kind: FileKind,
  fileName: string,
  source: AsyncIterable<Uint8Array>,
  after: AfterImport = afterImport,
): Promise<ImportOutcome> {
  const problems = new ProblemList();
  const reading = new Reading();
  const hash = createHash('sha256');
  const client = await pool.connect();
  let staging: Staging | undefined;
  let broken: Error | undefined;
  try {
    await client.query('BEGIN');
    await client.query(`SELECT pg_advisory_xact_lock(hashtextextended('import ' || $1, 0))`, [
      by.conferenceId,
    ]);
    const stage = await kind.open(client, by.conferenceId);
    staging = await Staging.begin(client, kind);
    let present: ReadonlySet<string> = new Set();
    for await (const read of readRows(hashed(source, hash), kind.format, problems, reading)) {
      present = read.present;
      const values = stage(read.row, (column, value, problem, fix) => {
        const heading = kind.format.columns[column]?.heading ?? column;
        problems.add({ line: read.line, column: heading, value, problem, fix });
      });
      if (values !== undefined) await staging.add(read.line, values);
    }
    await staging.end();
    for (const line of await staging.withoutRepeats())
      reading.notes.add('This line repeats an earlier one and was read once.', line);
    const { listed, count } = await staging.duplicates(listedLines);
    problems.addMany(listed, count);
    if (kind.check !== undefined) problems.addMany(await kind.check(client, by.conferenceId));

    const outcome: ImportOutcome = {
      kind: kind.format.name,
      fileName,
      applied: false,
      readAs: reading.found,
      notes: reading.notes.listed,
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
    if (problems.count > 0) {
      await client.query('ROLLBACK');
      return outcome;
    }
    const { added, changed, playLogsChanged = [] } = await kind.merge(client, by.conferenceId, present);
    Object.assign(outcome, {
      applied: true,
      added,
      changed,
      unchanged: staging.rows - added - changed,
      playLogsChanged,
    });
    const sha256 = hash.digest('hex');
    await client.query(
      `INSERT INTO import_file (conference_id, kind, file_name, sha256, added, changed, unchanged, imported_by)
       VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
      [by.conferenceId, outcome.kind, fileName, sha256, added, changed, outcome.unchanged, by.personId],
    );
    await after(client, by, outcome, sha256);
    await client.query('COMMIT');
    return outcome;
  } catch (error) {
    broken = error as Error;
    await staging?.abandon().catch(() => undefined);
    await client.query('ROLLBACK').catch(() => undefined);
    throw error;
  } finally {
    client.release(broken !== undefined);
  }
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
