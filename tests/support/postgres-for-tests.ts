import pg from 'pg';
import type { TestProject } from 'vitest/node';
import { openDatabase } from '../../server/database/database.ts';
import { startEmbeddedPostgres } from '../../server/database/embedded.ts';
import { onceARun } from './once-a-run.ts';
import { folderInRun } from './test-run.ts';

declare module 'vitest' {
  interface ProvidedContext {
    postgresUrl: string;
  }
}

/** One real PostgreSQL for a whole run of tests, with a migrated template that each test file copies. */
export default async function setup(project: TestProject) {
  const server = await onceARun('postgres', start);
  project.provide('postgresUrl', server.value.url);
  return server.leave;
}

async function start() {
  const server = await startEmbeddedPostgres(await folderInRun('shared'));
  const admin = new pg.Client({ connectionString: server.url });
  await admin.connect();
  // Nothing here outlives the run, so nothing waits for the disk.
  for (const setting of ['fsync', 'full_page_writes', 'synchronous_commit', 'autovacuum'])
    await admin.query(`ALTER SYSTEM SET ${setting} = off`);
  await admin.query(`ALTER SYSTEM SET max_wal_size = '4GB'`);
  await admin.query('SELECT pg_reload_conf()');
  await admin.query('CREATE DATABASE empty_template');
  await (await openDatabase(databaseUrl(server.url, 'empty_template'))).close();
  await admin.end();
  return { url: server.url, end: () => server.stop() };
}

function databaseUrl(url: string, database: string): string {
  const changed = new URL(url);
  changed.pathname = `/${database}`;
  return changed.href;
}
