import { createHash, randomUUID } from 'node:crypto';
import { readdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import type pg from 'pg';
import { applicationRoleOf, roleInMigrations } from './application-role.ts';
import { ensureApplicationRole, takeOverRights } from './sign-in-role.ts';
import { StartupError } from './startup-error.ts';

const migrationsFolder = fileURLToPath(new URL('../../prisma/migrations', import.meta.url));

/** Any constant will do, as long as every starter of this program uses the same one. */
const lockKey = 7_203_114;

export type Migration = { name: string; sql: string; checksum: string };

/** The migrations in `folder` in the order of their names. The checksum is Prisma's: SHA-256 of the file, in hex. */
export async function readMigrations(folder = migrationsFolder): Promise<Migration[]> {
  const entries = await readdir(folder, { withFileTypes: true });
  const names = entries
    .filter((entry) => entry.isDirectory())
    .map((entry) => entry.name)
    .sort();
  return Promise.all(
    names.map(async (name) => {
      const sql = await readFile(path.join(folder, name, 'migration.sql'), 'utf8');
      return { name, sql, checksum: createHash('sha256').update(sql).digest('hex') };
    }),
  );
}

/**
 * Applies the missing migrations, each in a transaction, and keeps the table that `prisma migrate` keeps, so that
 * either tool can go on where the other stopped. Two processes at once: the second waits, then finds nothing to do.
 *
 * Where a migration names the application's role, it gets the one that belongs to this owner.
 *
 * @returns the names applied now.
 * @throws StartupError when the database is newer than this program, or was migrated from other files.
 */
export async function applyMigrations(
  client: pg.Client,
  migrations: Migration[],
  say: (line: string) => void = () => {},
): Promise<string[]> {
  const role = applicationRoleOf(await currentUser(client));
  await ensureApplicationRole(client, role);
  await takeOverRights(client, role);
  const applied: string[] = [];
  for (;;) {
    const name = await applyNext(client, migrations, role, say);
    if (name === undefined) return applied;
    applied.push(name);
  }
}

/** The lock is the transaction's, not the session's: behind a pooler, the next statement may be another session's. */
async function applyNext(
  client: pg.Client,
  migrations: Migration[],
  role: string,
  say: (line: string) => void,
): Promise<string | undefined> {
  await client.query('BEGIN');
  try {
    await lockForMigrating(client);
    await client.query(listOfMigrations);
    const [next] = await missingMigrations(client, migrations);
    if (next !== undefined) {
      say(`Applying migration ${next.name}`);
      await applyOne(client, next, role);
    }
    await client.query('COMMIT');
    return next?.name;
  } catch (error) {
    await client.query('ROLLBACK').catch(() => {});
    throw error;
  }
}

const listOfMigrations = `
  CREATE TABLE IF NOT EXISTS _prisma_migrations (
    id                  varchar(36) PRIMARY KEY NOT NULL,
    checksum            varchar(64) NOT NULL,
    finished_at         timestamptz,
    migration_name      varchar(255) NOT NULL,
    logs                text,
    rolled_back_at      timestamptz,
    started_at          timestamptz NOT NULL DEFAULT now(),
    applied_steps_count integer NOT NULL DEFAULT 0
  )`;

/** Until the transaction ends nobody else migrates: a program that starts meanwhile waits. */
export async function lockForMigrating(client: pg.Client): Promise<void> {
  await client.query('SELECT pg_advisory_xact_lock($1)', [lockKey]);
}

/** Applies those that are missing inside the caller's transaction: all of them or none. The role must be there. */
export async function applyWithin(client: pg.Client, migrations: readonly Migration[]): Promise<void> {
  const role = applicationRoleOf(await currentUser(client));
  await client.query(listOfMigrations);
  for (const missing of await missingMigrations(client, migrations)) await applyOne(client, missing, role);
}

export const currentUser = async (client: pg.Client): Promise<string> =>
  (await client.query('SELECT current_user AS name')).rows[0].name;

/** The migrations that the database still lacks. Throws as `applyMigrations` does. */
export async function missingMigrations(
  client: Pick<pg.Client, 'query'>,
  migrations: readonly Migration[],
): Promise<Migration[]> {
  const { rows } = await client.query<{ migration_name: string; checksum: string; finished_at: Date | null }>(
    'SELECT migration_name, checksum, finished_at FROM _prisma_migrations WHERE rolled_back_at IS NULL',
  );
  const applied = new Map(rows.map((row) => [row.migration_name, row]));
  const known = new Map(migrations.map((migration) => [migration.name, migration]));
  for (const row of rows) {
    const here = known.get(row.migration_name);
    if (!here) {
      throw new StartupError(
        `The database was migrated by a newer Crewmark (it has ${row.migration_name}); start that version, or set DATABASE_URL to another database.`,
      );
    }
    if (row.finished_at === null) {
      throw new StartupError(
        `Migration ${row.migration_name} was begun and never finished; repair it with "prisma migrate resolve" before starting.`,
      );
    }
    if (here.checksum !== row.checksum) {
      throw new StartupError(
        `Migration ${row.migration_name} differs from the one this database was made with; restore the file, or use another database.`,
      );
    }
  }
  return migrations.filter((migration) => !applied.has(migration.name));
}

async function applyOne(client: pg.Client, migration: Migration, role: string): Promise<void> {
  try {
    await client.query(migration.sql.replaceAll(new RegExp(`\\b${roleInMigrations}\\b`, 'g'), role));
    await client.query(
      `INSERT INTO _prisma_migrations (id, checksum, migration_name, finished_at, applied_steps_count)
       VALUES ($1, $2, $3, now(), 1)`,
      [randomUUID(), migration.checksum, migration.name],
    );
  } catch (error) {
    const code = (error as { code?: string }).code;
    if (code === '42501') {
      throw new StartupError(
        `The database user may not apply migration ${migration.name} (${(error as Error).message}); it needs CREATEROLE and to own the database.`,
      );
    }
    throw new StartupError(`Migration ${migration.name} failed: ${(error as Error).message}`);
  }
}
