// @module-tag long
import { createHash } from 'node:crypto';
import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openDatabase } from '../../server/database/database.ts';
import { applyMigrations, type Migration, readMigrations } from '../../server/database/migrations.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
beforeAll(async () => {
  database = await testDatabase('template1');
});
afterAll(() => database.drop());

const owner = async () => {
  const client = new pg.Client({ connectionString: database.url });
  await client.connect();
  return client;
};

test('two processes that start at once both succeed, and each migration is applied once', async () => {
  const [one, two] = await Promise.all([owner(), owner()]);
  const migrations = await readMigrations();
  const applied = await Promise.all([applyMigrations(one, migrations), applyMigrations(two, migrations)]);
  expect(applied.flat().sort()).toEqual(migrations.map((migration) => migration.name).sort());
  const { rows } = await one.query('SELECT migration_name, checksum FROM _prisma_migrations ORDER BY 1');
  expect(rows).toEqual(migrations.map(({ name, checksum }) => ({ migration_name: name, checksum })));
  await Promise.all([one.end(), two.end()]);
});

test('a database migrated by a newer program is refused in one sentence', async () => {
  const client = await owner();
  const future: Migration = { name: '29990101000000_later', sql: 'SELECT 1', checksum: 'x' };
  await applyMigrations(client, [...(await readMigrations()), future]);
  await expect(openDatabase(database.url)).rejects.toThrow(/newer Crewmark \(it has 29990101000000_later\)/);
  await client.query("DELETE FROM _prisma_migrations WHERE migration_name = '29990101000000_later'");
  await client.end();
});

test('a changed migration file is refused, and a failing one leaves nothing behind', async () => {
  const client = await owner();
  const migrations = await readMigrations();
  const sql = `${migrations[0]!.sql}\n-- edited`;
  const edited = { name: migrations[0]!.name, sql, checksum: createHash('sha256').update(sql).digest('hex') };
  await expect(applyMigrations(client, [edited, ...migrations.slice(1)])).rejects.toThrow(
    /differs from the one/,
  );
  const broken: Migration = {
    name: '29990101000001_broken',
    sql: 'CREATE TABLE left_over (); SELECT 1/0;',
    checksum: 'y',
  };
  await expect(applyMigrations(client, [...migrations, broken])).rejects.toThrow(
    /29990101000001_broken failed: division by zero/,
  );
  const { rows } = await client.query("SELECT to_regclass('left_over') AS found");
  expect(rows[0].found).toBeNull();
  await client.end();
});

test('an unreachable server is told in one sentence that names DATABASE_URL', async () => {
  await expect(openDatabase('postgresql://nobody@127.0.0.1:1/none')).rejects.toThrow(
    /^The database at 127\.0\.0\.1:1\/none cannot be reached \(.+\); check DATABASE_URL\.$/,
  );
});

test("the application's role can add to the audit trail but not rewrite it, nor can the owner by accident", async () => {
  const app = await openDatabase(database.url);
  const client = await owner();
  try {
    const { rows } = await app.pool.query(
      "INSERT INTO conference (slug, name) VALUES ('t', 'T') RETURNING id",
    );
    await app.pool.query(
      `INSERT INTO audit_entry (conference_id, number, at, action, subject_kind, subject_id, previous_hash, hash)
       VALUES ($1, 1, now(), 'tried', 'test', '1', '', 'h')`,
      [rows[0].id],
    );
    for (const sql of [
      "UPDATE audit_entry SET action = 'x'",
      'DELETE FROM audit_entry',
      'TRUNCATE audit_entry',
    ]) {
      await expect(app.pool.query(sql)).rejects.toThrow(/permission denied/);
      await expect(client.query(sql)).rejects.toThrow(/append-only/);
    }
  } finally {
    await client.end();
    await app.close();
  }
});
