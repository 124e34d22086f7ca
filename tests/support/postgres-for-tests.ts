import { mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import type { TestProject } from 'vitest/node';
import { startEmbeddedPostgres } from '../../server/database/embedded.ts';
import { applyMigrations, readMigrations } from '../../server/database/migrations.ts';

declare module 'vitest' {
  interface ProvidedContext {
    postgresUrl: string;
  }
}

type Running = { url: string; stop(): Promise<void> };
// Each project of a run loads this file anew; they find each other's server here.
const run = globalThis as { crewmarkTestPostgres?: { users: number; server: Promise<Running> } };

/** One real PostgreSQL for a whole run of tests, with a migrated template that each test file copies. */
export default async function setup(project: TestProject) {
  run.crewmarkTestPostgres ??= { users: 0, server: start() };
  const shared = run.crewmarkTestPostgres;
  shared.users += 1;
  project.provide('postgresUrl', (await shared.server).url);
  return async () => {
    shared.users -= 1;
    if (shared.users > 0) return;
    run.crewmarkTestPostgres = undefined;
    await (await shared.server).stop();
  };
}

async function start(): Promise<Running> {
  const dataDir = await mkdtemp(path.join(os.tmpdir(), 'crewmark-tests-'));
  const server = await startEmbeddedPostgres(dataDir);
  const admin = new pg.Client({ connectionString: server.url });
  await admin.connect();
  // Nothing here outlives the run, so nothing waits for the disk.
  for (const setting of ['fsync', 'full_page_writes', 'synchronous_commit', 'autovacuum'])
    await admin.query(`ALTER SYSTEM SET ${setting} = off`);
  await admin.query(`ALTER SYSTEM SET max_wal_size = '4GB'`);
  await admin.query('SELECT pg_reload_conf()');
  await admin.query('CREATE DATABASE empty_template');
  const template = new pg.Client({ connectionString: databaseUrl(server.url, 'empty_template') });
  await template.connect();
  await applyMigrations(template, await readMigrations());
  await template.end();
  await admin.end();
  return {
    url: server.url,
    async stop() {
      await server.stop();
      await rm(dataDir, { recursive: true, force: true });
    },
  };
}

function databaseUrl(url: string, database: string): string {
  const changed = new URL(url);
  changed.pathname = `/${database}`;
  return changed.href;
}
