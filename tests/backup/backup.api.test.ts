// @module-tag rest
import { createHash, randomUUID } from 'node:crypto';
import { copyFile, mkdir, open, readdir, readFile, stat, truncate, writeFile } from 'node:fs/promises';
import path from 'node:path';
import pg from 'pg';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { appendAudit } from '../../server/accounts/audit/audit.ts';
import { verifyAudit } from '../../server/accounts/audit/audit-verification.ts';
import { openBackup } from '../../server/backup/read-backup.ts';
import { restoreBackup } from '../../server/backup/restore.ts';
import { writeBackup } from '../../server/backup/write-backup.ts';
import { applicationRoleOf } from '../../server/database/application-role.ts';
import { openDatabase } from '../../server/database/database.ts';
import { applyWithin, type Migration, readMigrations } from '../../server/database/migrations.ts';
import { StartupError } from '../../server/database/startup-error.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { everyRow } from './every-row.ts';
import { otherRows, rewritten } from './rewritten.ts';

let demo: DemoDatabase;
let owner: pg.Client;
let folder: string;
let file: string;
let small: string; // a conference and a person: for what needs no season
let writer: { conferenceId: string; written: number };
const pdf = Buffer.concat([
  Buffer.from('%PDF-1.7\n\\.\n\t\0\xff', 'latin1'),
  Buffer.alloc(300_000, 'a letter '),
]);
const version = '0.1.0';

const made: Array<{ drop(): Promise<void> }> = [];

async function as(url: string): Promise<pg.Client> {
  const client = new pg.Client({ connectionString: url });
  client.on('error', () => {});
  await client.connect();
  return client;
}

beforeAll(async () => {
  demo = await demoDatabase();
  owner = await as(demo.url);
  folder = await folderInRun('backup');
  file = path.join(folder, 'demo.backup');
  await demo.pool.query(
    `INSERT INTO letter (conference_id, season_id, person_id, kind, input_revision, sha256, pdf, remark)
     SELECT conference_id, $1, id, 'end-of-season', 1, $2, $3, E'tab\\t, line\\n, back\\\\slash, \\\\N and ü' FROM person
      WHERE conference_id = $4 ORDER BY id LIMIT 1`,
    [demo.seasonId, createHash('sha256').update(pdf).digest('hex'), pdf, demo.conferenceId],
  );
  const few = await testDatabase();
  made.push(few);
  await makePerson(few.pool, await makeConference(few.pool), ['official']);
  small = path.join(folder, 'small.backup');
  const client = await as(few.url);
  await writeBackup(client, small, { version });
  await client.end();
  writer = await writeWhile(async () => {
    await writeBackup(owner, file, { version });
  });
});
afterAll(async () => {
  await owner.end();
  await demo.drop();
  for (const { drop } of made) await drop();
});

/** Writes all the time, in each transaction two rows of two tables, until `work` is done. */
async function writeWhile(work: () => Promise<void>) {
  const conferenceId = await makeConference(demo.pool);
  const { personId } = await makePerson(demo.pool, conferenceId, ['official']);
  let written = 0;
  let done = false;
  const writing = async () => {
    while (!done) {
      await inTransaction(demo.pool, async (client) => {
        await client.query(
          `INSERT INTO message (conference_id, person_id, kind, facts) VALUES ($1, $2, 'letter', '{}')`,
          [conferenceId, personId],
        );
        await appendAudit(client, {
          conferenceId,
          actorId: null,
          action: 'wrote',
          subjectKind: 'person',
          subjectId: personId,
        });
      });
      written += 1;
    }
  };
  const writers = [writing(), writing()];
  try {
    while (written < 5) await new Promise((resolve) => setImmediate(resolve));
    await work();
  } finally {
    done = true;
    await Promise.all(writers);
  }
  return { conferenceId, written };
}

/** An empty database of an owner who is no superuser, as an external server gives one. */
async function emptyDatabase(): Promise<{ url: string; client: pg.Client; role: string }> {
  const admin = await as(inject('postgresUrl'));
  const name = `crew_${randomUUID().slice(0, 8)}`;
  await admin.query(`CREATE ROLE ${name} LOGIN CREATEROLE PASSWORD 'a secret of the owner'`);
  await admin.query(`CREATE DATABASE ${name} OWNER ${name}`);
  const url = new URL(inject('postgresUrl'));
  url.pathname = `/${name}`;
  url.username = name;
  url.password = 'a secret of the owner';
  const client = await as(url.href);
  made.push({
    async drop() {
      await client.end();
      await admin.query(`DROP DATABASE ${name} WITH (FORCE)`);
      await admin.query(`DROP ROLE IF EXISTS ${applicationRoleOf(name)}, ${name}`);
      await admin.end();
    },
  });
  return { url: url.href, client, role: applicationRoleOf(name) };
}

const refuseToReplace = async (what: string) => {
  throw new StartupError(`holds ${what}`);
};

async function restore(
  client: pg.Client,
  from: string,
  more: { migrations?: Migration[]; replace?: true } = {},
) {
  const backup = await openBackup(from);
  try {
    await restoreBackup(client, backup, {
      migrations: more.migrations ?? (await readMigrations()),
      mayReplace: more.replace ? async () => true : refuseToReplace,
    });
  } finally {
    await backup.close();
  }
}

const refusal = async (work: Promise<unknown>): Promise<string> => {
  const error = await work.then(
    () => new Error('It was taken.'),
    (thrown) => thrown,
  );
  expect(error).toBeInstanceOf(StartupError);
  return error.message;
};

test('written while the program writes, a backup restores every row of every table elsewhere', async () => {
  const elsewhere = await emptyDatabase();
  await restore(elsewhere.client, file);
  const without = writer.conferenceId;
  const there = await everyRow(elsewhere.client, without);
  expect(there).toEqual(await everyRow(owner, without));
  expect(there.play!.rows).toBeGreaterThan(1000);
  const { rows } = await elsewhere.client.query('SELECT pdf, sha256, remark FROM letter');
  expect(createHash('sha256').update(rows[0].pdf).digest('hex')).toBe(rows[0].sha256);
  expect(rows[0].remark).toBe('tab\t, line\n, back\\slash, \\N and ü');
  // What was written meanwhile is there as of one moment.
  const { rows: both } = await elsewhere.client.query(
    `SELECT (SELECT count(*)::int FROM message WHERE conference_id = $1) AS messages,
            (SELECT count(*)::int FROM audit_entry WHERE conference_id = $1) AS entries`,
    [without],
  );
  expect(both[0].messages).toBe(both[0].entries);
  expect(both[0].messages).toBeGreaterThan(0);
  expect(both[0].messages).toBeLessThan(writer.written);
  expect((await verifyAudit(elsewhere.client, without)).faults).toEqual([]);
  // References and triggers are what they were, and the program works on it as its own role.
  const forms = `SELECT conrelid::regclass::text AS on, conname, pg_get_constraintdef(oid) AS form, NULL AS enabled
                   FROM pg_constraint WHERE connamespace = 'public'::regnamespace
                 UNION ALL SELECT tgrelid::regclass::text, tgname, pg_get_triggerdef(oid), tgenabled::text
                   FROM pg_trigger WHERE NOT tgisinternal ORDER BY 1, 2`;
  expect((await elsewhere.client.query(forms)).rows).toEqual((await owner.query(forms)).rows);
  const database = await openDatabase(elsewhere.url);
  try {
    expect((await database.pool.query('SELECT current_user AS role')).rows[0].role).toBe(elsewhere.role);
    await expect(database.pool.query('DELETE FROM audit_entry')).rejects.toThrow(/permission denied/);
    const replaced = await refusal(restore(elsewhere.client, file, { replace: true }));
    expect(replaced).toMatch(/^A program works on this database; stop it first .*, then restore\.$/);
  } finally {
    await database.close();
  }
  expect(await refusal(restore(elsewhere.client, file))).toMatch(/^holds .+ \(\d+ people, \d+ reports\)$/);
  await elsewhere.client.query('DELETE FROM message');
  await restore(elsewhere.client, file, { replace: true });
  expect(await everyRow(elsewhere.client, without)).toEqual(there);
});

test("the file is its owner's only, leaves nothing beside it, and replaces none unasked", async () => {
  expect((await stat(file)).mode & 0o777).toBe(0o600);
  expect(await refusal(writeBackup(owner, file, { version }))).toBe(
    `${file} is there already; give another name, or --overwrite to replace it.`,
  );
  const before = await readFile(file);
  const stop = new AbortController();
  const stopped = writeBackup(owner, file, { version, overwrite: true, signal: stop.signal });
  stop.abort();
  await expect(stopped).rejects.toThrow();
  expect(before.equals(await readFile(file))).toBe(true);
  expect(await refusal(writeBackup(owner, path.join(folder, 'no', 'such'), { version }))).toMatch(
    /cannot be written \(its folder is not there\)/,
  );
  // Stopped in the middle of its tables, with more rows on their way than anything holds meanwhile.
  const late = new AbortController();
  const half = writeBackup(owner, path.join(folder, 'half'), { version, signal: late.signal });
  let ended = false;
  half
    .catch(() => {})
    .finally(() => {
      ended = true;
    });
  const written = async () => {
    const name = (await readdir(folder)).find((one) => one.startsWith('.half.unfinished'));
    return name === undefined ? 0 : (await stat(path.join(folder, name))).size;
  };
  while (!ended && (await written()) === 0) await new Promise((resolve) => setImmediate(resolve));
  late.abort();
  await expect(half).rejects.toThrow();
  expect((await readdir(folder)).filter((name) => name.includes('unfinished'))).toEqual([]);
  await owner.query('SELECT 1'); // the connection goes on
});

test('a byte changed anywhere is found, and nothing is restored from it', async () => {
  const { size } = await stat(file);
  const copy = path.join(folder, 'changed');
  const places = [
    0,
    5,
    29,
    31,
    49,
    ...Array.from({ length: 30 }, (_, i) => Math.floor((size * i) / 30) + 60),
  ];
  for (const place of [...places, size - 200, size - 110, size - 65, size - 64, size - 1]) {
    await copyFile(file, copy);
    const handle = await open(copy, 'r+');
    const { buffer } = await handle.read(Buffer.alloc(1), 0, 1, place);
    await handle.write(Buffer.from([buffer[0]! ^ 1]), 0, 1, place);
    await handle.close();
    expect(await refusal(openBackup(copy)), `byte ${place}`).toMatch(/damaged or cut off|is no backup/);
  }
});

test('a backup that was cut off, is no backup, or is not there is refused in one sentence', async () => {
  const { size } = await stat(file);
  const copy = path.join(folder, 'cut');
  for (const length of [size - 1, size - 64, size - 1000, Math.floor(size / 2), 100, 60]) {
    await copyFile(file, copy);
    await truncate(copy, length);
    expect(await refusal(openBackup(copy)), `${length} bytes`).toBe(
      `${copy} is damaged or cut off: its content is not what was written. Take another backup.`,
    );
  }
  for (const other of [
    Buffer.alloc(0),
    Buffer.from('-- PostgreSQL database dump\n'),
    Buffer.alloc(5000, 'PK'),
  ]) {
    await writeFile(copy, other);
    expect(await refusal(openBackup(copy))).toBe(`${copy} is no backup of Crewmark.`);
  }
  expect(await refusal(openBackup(`${copy}-not`))).toBe(`There is no file ${copy}-not.`);
  await mkdir(`${copy}-folder`);
  expect(await refusal(openBackup(`${copy}-folder`))).toBe(`${copy}-folder is no file that could be read.`);
});

test('content that its list does not tell of is found though the seal holds', async () => {
  const copy = path.join(folder, 'forged');
  await rewritten(small, copy, (files) => {
    const people = files.get('tables/person.copy')!;
    files.set('tables/person.copy', Buffer.from(people.toString().replace('@', '#')));
  });
  expect(await refusal(openBackup(copy))).toMatch(/damaged/);
  await rewritten(small, copy, (files) => files.delete('tables/person.copy'));
  expect(await refusal(openBackup(copy))).toMatch(/damaged/);
  await rewritten(small, copy, (_, manifest) => {
    manifest.tables[0]!.columns.push('more');
  });
  const elsewhere = await emptyDatabase();
  expect(await refusal(restore(elsewhere.client, copy))).toMatch(/tables or columns/);
});

test('a restore that fails in the middle leaves what was there', async () => {
  const copy = path.join(folder, 'broken');
  await rewritten(small, copy, (files, manifest) => otherRows(files, manifest, 'conference', []));
  const elsewhere = await emptyDatabase();
  await expect(restore(elsewhere.client, copy)).rejects.toThrow(/foreign key/);
  const { rows } = await elsewhere.client.query(
    `SELECT count(*)::int AS n FROM pg_class WHERE relnamespace = 'public'::regnamespace`,
  );
  expect(rows[0].n).toBe(0);
  const filled = await testDatabase();
  const client = await as(filled.url);
  await filled.close();
  try {
    await makeConference(client, 'Kept');
    const before = await everyRow(client);
    await expect(restore(client, copy, { replace: true })).rejects.toThrow(/foreign key/);
    expect(await everyRow(client)).toEqual(before);
  } finally {
    await client.end();
    await filled.drop().catch(() => {});
  }
});

test('tables of something else are never replaced', async () => {
  const elsewhere = await emptyDatabase();
  await elsewhere.client.query('CREATE TABLE recipe (id integer)');
  expect(await refusal(restore(elsewhere.client, small, { replace: true }))).toBe(
    'The database holds tables of something else (recipe); set DATABASE_URL to another database.',
  );
});

const later: Migration = {
  name: '29990101000000_later',
  sql: `CREATE TABLE later (id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY, name text NOT NULL,
                            length integer GENERATED ALWAYS AS (length(name)) STORED);
        INSERT INTO later (name) SELECT name FROM conference;
        ALTER TABLE person ADD COLUMN later boolean NOT NULL DEFAULT true;`,
  checksum: 'a'.repeat(64),
};

test('an older backup is migrated on; a newer one is refused; numbers that PostgreSQL gives go on', async () => {
  const migrations = [...(await readMigrations()), later];
  const elsewhere = await emptyDatabase();
  await restore(elsewhere.client, small, { migrations });
  const { rows } = await elsewhere.client.query('SELECT bool_and(later) AS later FROM person');
  expect(rows).toEqual([{ later: true }]);
  const names = 'SELECT id, name, length FROM later ORDER BY id';
  const before = (await elsewhere.client.query(names)).rows;
  expect(before).toHaveLength(1);
  const newer = path.join(folder, 'newer');
  await writeBackup(elsewhere.client, newer, { version: '9.0.0' });
  const third = await emptyDatabase();
  expect(await refusal(restore(third.client, newer))).toBe(
    'The backup is of a newer Crewmark (9.0.0, with 29990101000000_later); restore it with that version or a later one.',
  );
  await restore(third.client, newer, { migrations });
  expect((await third.client.query(names)).rows).toEqual(before);
  const added = await third.client.query(`INSERT INTO later (name) VALUES ('one more') RETURNING id, length`);
  expect(added.rows).toEqual([{ id: String(Number(before.at(-1).id) + 1), length: 8 }]);
  const other = migrations.map((one, i) => (i === 0 ? { ...one, checksum: 'b'.repeat(64) } : one));
  expect(await refusal(restore(third.client, newer, { migrations: other, replace: true }))).toMatch(
    /another form of the migration/,
  );
  const form = path.join(folder, 'form');
  await rewritten(small, form, (_, manifest) => {
    (manifest as { formatVersion: number }).formatVersion = 2;
  });
  expect(await refusal(openBackup(form))).toMatch(/^The backup is of a newer Crewmark \(0\.1\.0\) in a form/);
});

test('while a backup is restored no program starts on the database and none is backed up', async () => {
  const target: TestDatabase = await testDatabase();
  const other = await as(target.url);
  await target.close();
  try {
    await other.query('BEGIN');
    await other.query('SELECT pg_advisory_xact_lock(7203115)'); // what a restore holds
    expect(await refusal(openDatabase(target.url))).toMatch(/^The database is being restored from a backup/);
    const client = await as(target.url);
    expect(await refusal(writeBackup(client, path.join(folder, 'none'), { version }))).toMatch(
      /being restored/,
    );
    await client.end();
    await other.query('ROLLBACK');
    await applyWithin(other, await readMigrations());
  } finally {
    await other.end();
    await target.drop().catch(() => {});
  }
});
