import { randomBytes } from 'node:crypto';
import { link, open, rename, rm, stat } from 'node:fs/promises';
import path from 'node:path';
import { type Readable, Writable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import type pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import yazl from 'yazl';
import { keptFromBeingReplaced } from '../database/presence.ts';
import { StartupError } from '../database/startup-error.ts';
import { entryOf, firstEntry, formatVersion, type Manifest, manifestEntry } from './manifest.ts';
import { commentWithRoom, Sealing } from './seal.ts';
import { plainTextForms, quoted, sequencesOf, type Table, tablesOf } from './tables.ts';
import { Tally } from './tally.ts';

interface Options {
  /** The program's version. */
  readonly version: string;
  readonly overwrite?: boolean;
  /** Gives up and leaves nothing behind. */
  readonly signal?: AbortSignal;
}

/**
 * Writes all that the database holds, as it is at one moment, into one file, while the program goes on. The file is
 * there whole or not at all, readable by its owner only.
 * @param client the owner's, outside any transaction
 * @throws StartupError in one sentence.
 */
export async function writeBackup(client: pg.Client, file: string, options: Options): Promise<Manifest> {
  if (!options.overwrite && (await stat(file).catch(() => undefined))) {
    throw new StartupError(`${file} is there already; give another name, or --overwrite to replace it.`);
  }
  const beside = path.join(
    path.dirname(file),
    `.${path.basename(file)}.unfinished-${randomBytes(4).toString('hex')}`,
  );
  try {
    const manifest = await atOneMoment(client, (tables) => writeFile(client, tables, beside, options));
    await putInPlace(beside, file, options.overwrite ?? false);
    return manifest;
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code !== undefined && /^E[A-Z]+$/.test(code) && code !== 'ECONNRESET') {
      throw new StartupError(`${file} cannot be written (${whyNot[code] ?? code}); nothing was kept.`);
    }
    throw error;
  } finally {
    await rm(beside, { force: true });
  }
}

const whyNot: Readonly<Record<string, string>> = {
  ENOENT: 'its folder is not there',
  ENOSPC: 'the disk is full',
  EACCES: 'the folder is not open to this user',
  EROFS: 'the disk is only to be read',
};

/** Runs `work` in one snapshot of all tables, none of which can be changed in its form or emptied meanwhile. */
async function atOneMoment<Result>(
  client: pg.Client,
  work: (tables: Table[]) => Promise<Result>,
): Promise<Result> {
  const before = await tablesOf(client);
  if (!before.some(({ name }) => name === 'conference')) {
    throw new StartupError('The database holds nothing of Crewmark; there is nothing to back up.');
  }
  await client.query('BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY');
  try {
    // Locks come before the first query, which takes the snapshot.
    await client.query(
      `LOCK TABLE ${before.map(({ name }) => quoted(name)).join(', ')} IN ACCESS SHARE MODE`,
    );
    await client.query(plainTextForms);
    await keptFromBeingReplaced(client);
    const tables = await tablesOf(client);
    if (JSON.stringify(tables) !== JSON.stringify(before)) {
      throw new StartupError('The database is being migrated just now; back it up when that is done.');
    }
    return await work(tables);
  } finally {
    await client.query('ROLLBACK').catch(() => {});
  }
}

async function writeFile(
  client: pg.Client,
  tables: readonly Table[],
  file: string,
  { version, signal }: Options,
): Promise<Manifest> {
  const handle = await open(file, 'wx', 0o600);
  try {
    const zip = new yazl.ZipFile();
    const filling = fill(zip, client, tables, version);
    const output = zip.outputStream as Readable;
    filling.catch((error) => output.destroy(error));
    const sink = new Writable({
      write: (chunk: Buffer, _encoding, done) => void handle.appendFile(chunk).then(() => done(), done),
    });
    await pipeline(output, new Sealing(), sink, { ...(signal && { signal }) });
    const manifest = await filling;
    await handle.sync();
    return manifest;
  } finally {
    await handle.close();
  }
}

async function fill(
  zip: yazl.ZipFile,
  client: pg.Client,
  tables: readonly Table[],
  version: string,
): Promise<Manifest> {
  zip.addBuffer(Buffer.from(about), firstEntry, { compress: false });
  const told: Manifest['tables'] = [];
  const givenUp = new Promise<never>((_resolve, reject) => {
    zip.outputStream.once('close', () => reject(new Error('The file was closed.')));
  });
  givenUp.catch(() => {}); // at the end it closes by itself
  for (const { name, columns } of tables) {
    const copy = client.query(copyTo(`COPY ${quoted(name)} (${columns.map(quoted).join(', ')}) TO STDOUT`));
    const tally = new Tally();
    zip.addReadStream(copy.pipe(tally), entryOf(name), { mode: 0o100600 });
    const copied = new Promise<void>((resolve, reject) => {
      copy.once('error', reject);
      tally.once('end', resolve);
    });
    await Promise.race([copied, givenUp]).catch((error) => {
      // Nobody reads it any more (a full disk, say), and the connection takes no ROLLBACK before its last row.
      copy.unpipe(tally);
      copy.resume();
      throw error;
    });
    told.push({ name, columns, rows: tally.rows, bytes: tally.bytes, sha256: tally.sha256 });
  }
  const manifest: Manifest = {
    format: 'crewmark-backup',
    formatVersion,
    version,
    ...(await aboutTheDatabase(client)),
    tables: told,
  };
  zip.addBuffer(Buffer.from(JSON.stringify(manifest, null, 1)), manifestEntry, { mode: 0o100600 });
  zip.end({ comment: commentWithRoom, forceZip64Format: false });
  return manifest;
}

async function aboutTheDatabase(client: pg.Client) {
  const { rows: now } = await client.query<{ at: Date; postgres: string }>(
    "SELECT transaction_timestamp() AS at, current_setting('server_version') AS postgres",
  );
  const { rows: conferences } = await client.query<{ slug: string; name: string }>(
    'SELECT slug, name FROM conference ORDER BY slug',
  );
  const { rows: migrations } = await client.query<{ name: string; checksum: string }>(
    `SELECT migration_name AS name, checksum FROM _prisma_migrations
      WHERE rolled_back_at IS NULL AND finished_at IS NOT NULL ORDER BY migration_name`,
  );
  const sequences: Manifest['sequences'] = [];
  for (const name of await sequencesOf(client)) {
    const { rows } = await client.query<{ value: string; called: boolean }>(
      `SELECT last_value::text AS value, is_called AS called FROM ${quoted(name)}`,
    );
    sequences.push({ name, ...rows[0]! });
  }
  return { postgres: now[0]!.postgres, madeAt: now[0]!.at.toISOString(), conferences, migrations, sequences };
}

/** Under its name at once and for good, also when the machine loses its power the next moment. */
async function putInPlace(beside: string, file: string, overwrite: boolean): Promise<void> {
  if (overwrite) {
    await rename(beside, file);
  } else {
    try {
      await link(beside, file);
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException;
      if (code === 'EEXIST') throw new StartupError(`${file} is there already; nothing was kept.`);
      await rename(beside, file); // a file system without hard links
    }
  }
  const folder = await open(path.dirname(file), 'r');
  await folder.sync().catch(() => {}); // not every file system can
  await folder.close();
}

const about = `This is a backup of a Crewmark database. Its owner can read all of it: keep it as you keep the database.

  npm run backup -- --check FILE    says what is in it, and whether it is whole
  npm run restore -- FILE           puts it into an empty database

manifest.json says what is in tables/; each file there is PostgreSQL's text format of COPY.
`;
