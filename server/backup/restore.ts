import { pipeline } from 'node:stream/promises';
import type pg from 'pg';
import { from as copyFrom } from 'pg-copy-streams';
import { applicationRoleOf } from '../database/application-role.ts';
import { applyWithin, currentUser, lockForMigrating, type Migration } from '../database/migrations.ts';
import { checkOwnersRights } from '../database/missing-right.ts';
import { aloneInDatabase } from '../database/presence.ts';
import { ensureApplicationRole } from '../database/sign-in-role.ts';
import { StartupError } from '../database/startup-error.ts';
import { type Backup, refuseOtherMigrations } from './read-backup.ts';
import { plainTextForms, quoted, tablesOf } from './tables.ts';

interface Options {
  /** Those of this program. */
  readonly migrations: readonly Migration[];
  /** Asked when something would be lost; given what that is, in words. Without an answer of true nothing is done. */
  readonly mayReplace: (what: string) => Promise<boolean>;
  readonly say?: (line: string) => void;
}

/**
 * Puts a backup in place of what the database holds, in one transaction: the tables as the backup's own migrations
 * make them, its rows, then the migrations that came after it.
 * @param client the owner's, outside any transaction
 * @throws StartupError in one sentence; the database is then as it was.
 */
export async function restoreBackup(client: pg.Client, backup: Backup, options: Options): Promise<void> {
  const { manifest } = backup;
  const say = options.say ?? (() => {});
  refuseOtherMigrations(manifest, options.migrations);
  await checkOwnersRights(client);
  const role = applicationRoleOf(await currentUser(client));
  await client.query('BEGIN');
  await aloneInDatabase(client, role).finally(() => client.query('ROLLBACK'));
  const held = await whatIsHeld(client);
  if (held !== undefined && !(await options.mayReplace(held))) {
    throw new StartupError(`The database holds ${held}; nothing was restored.`);
  }
  await ensureApplicationRole(client, role);
  await client.query('BEGIN');
  try {
    await aloneInDatabase(client, role);
    await lockForMigrating(client);
    if ((await whatIsHeld(client)) !== held) {
      throw new StartupError('The database was changed meanwhile; nothing was restored.');
    }
    await client.query(plainTextForms);
    await dropAll(client);
    const own = new Set(manifest.migrations.map(({ name }) => name));
    await applyWithin(
      client,
      options.migrations.filter(({ name }) => own.has(name)),
    );
    await load(client, backup, say);
    if (own.size < options.migrations.length) {
      say(`Applying ${options.migrations.length - own.size} migrations that came after the backup`);
      await applyWithin(client, options.migrations);
    }
    await client.query('COMMIT');
  } catch (error) {
    await client.query('ROLLBACK').catch(() => {});
    throw error;
  }
}

/**
 * What a restore would take away, in words; undefined when that is nothing.
 * @throws StartupError when the database is something else's.
 */
async function whatIsHeld(client: pg.Client): Promise<string | undefined> {
  const tables = await tablesOf(client);
  if (tables.length === 0) return undefined;
  const { rows: known } = await client.query<{ ours: boolean }>(
    `SELECT to_regclass('public._prisma_migrations') IS NOT NULL AND to_regclass('public.conference') IS NOT NULL
        AND to_regclass('public.audit_entry') IS NOT NULL AS ours`,
  );
  if (!known[0]!.ours) {
    throw new StartupError(
      `The database holds tables of something else (${tables[0]!.name}); set DATABASE_URL to another database.`,
    );
  }
  const { rows } = await client.query<{ names: string | null; people: number; reports: number }>(
    `SELECT (SELECT string_agg(name, ', ' ORDER BY slug) FROM conference) AS names,
            (SELECT count(*)::int FROM person) AS people, (SELECT count(*)::int FROM report) AS reports`,
  );
  const { names, people, reports } = rows[0]!;
  return names === null ? undefined : `${names} (${people} people, ${reports} reports)`;
}

/** Takes away all that the program has made, so that migrations begin from nothing. What extensions made stays. */
async function dropAll(client: pg.Client): Promise<void> {
  const { rows } = await client.query<{ statement: string | null }>(`
    WITH ours AS (
      SELECT c.relkind AS kind, c.oid::regclass::text AS name FROM pg_class c
       WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p', 'v')
         AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = c.oid AND d.deptype = 'e')
       UNION ALL
      SELECT 'f', p.oid::regprocedure::text FROM pg_proc p
       WHERE p.pronamespace = 'public'::regnamespace
         AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = p.oid AND d.deptype = 'e'))
    SELECT 'DROP VIEW IF EXISTS ' || string_agg(name, ', ') || ' CASCADE' AS statement FROM ours WHERE kind = 'v'
    UNION ALL
    SELECT 'DROP TABLE IF EXISTS ' || string_agg(name, ', ') || ' CASCADE' FROM ours WHERE kind IN ('r', 'p')
    UNION ALL
    SELECT 'DROP ROUTINE IF EXISTS ' || string_agg(name, ', ') || ' CASCADE' FROM ours WHERE kind = 'f'`);
  for (const { statement } of rows) if (statement !== null) await client.query(statement);
}

/** Loads all rows. Triggers rest and references are made anew afterwards, which also holds the rows against them. */
async function load(client: pg.Client, backup: Backup, say: (line: string) => void): Promise<void> {
  const { manifest } = backup;
  const tables = await tablesOf(client);
  const form = (list: readonly { name: string; columns: readonly string[] }[]) =>
    JSON.stringify(list.map(({ name, columns }) => ({ name, columns })));
  if (form(tables) !== form(manifest.tables)) {
    throw new StartupError(
      'The backup has tables or columns that its migrations do not make; it cannot be restored by this program.',
    );
  }
  const resting = await restTriggers(client);
  const references = await dropReferences(client);
  await client.query(`TRUNCATE ${tables.map(({ name }) => quoted(name)).join(', ')}`);
  for (const table of manifest.tables) {
    if (table.rows > 0) say(`  ${table.name}: ${table.rows.toLocaleString('en-US')}`);
    const copy = client.query(
      copyFrom(`COPY ${quoted(table.name)} (${table.columns.map(quoted).join(', ')}) FROM STDIN`),
    );
    await pipeline(await backup.rowsOf(table), copy);
    const { rows } = await client.query(`SELECT count(*)::text AS n FROM ${quoted(table.name)}`);
    if (Number(rows[0].n) !== table.rows) {
      throw new StartupError(`Not all rows of ${table.name} could be loaded; nothing was restored.`);
    }
  }
  for (const { name, value, called } of manifest.sequences) {
    await client.query('SELECT setval($1::regclass, $2::bigint, $3)', [quoted(name), value, called]);
  }
  for (const statement of [...references, ...resting]) await client.query(statement);
}

/** @returns the statements that wake the triggers again */
async function restTriggers(client: pg.Client): Promise<string[]> {
  const { rows } = await client.query<{ rest: string; wake: string }>(`
    SELECT format('ALTER TABLE %s DISABLE TRIGGER %I', t.tgrelid::regclass, t.tgname) AS rest,
           format('ALTER TABLE %s ENABLE %s TRIGGER %I', t.tgrelid::regclass,
                  CASE t.tgenabled WHEN 'A' THEN 'ALWAYS' WHEN 'R' THEN 'REPLICA' ELSE '' END, t.tgname) AS wake
      FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
     WHERE c.relnamespace = 'public'::regnamespace AND NOT t.tgisinternal AND t.tgenabled <> 'D'`);
  for (const { rest } of rows) await client.query(rest);
  return rows.map(({ wake }) => wake);
}

/** Only a superuser can let references rest, and tables refer to each other in circles. @returns how they are made again */
async function dropReferences(client: pg.Client): Promise<string[]> {
  const { rows } = await client.query<{ drop: string; make: string }>(`
    SELECT format('ALTER TABLE %s DROP CONSTRAINT %I', conrelid::regclass, conname) AS drop,
           format('ALTER TABLE %s ADD CONSTRAINT %I %s', conrelid::regclass, conname, pg_get_constraintdef(oid)) AS make
      FROM pg_constraint WHERE connamespace = 'public'::regnamespace AND contype = 'f' ORDER BY conrelid, conname`);
  for (const { drop } of rows) await client.query(drop);
  return rows.map(({ make }) => make);
}
