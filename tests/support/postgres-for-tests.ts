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

/** One real PostgreSQL for a whole project of tests, with a migrated template that each test file copies. */
export default async function setup(project: TestProject) {
  const dataDir = await mkdtemp(path.join(os.tmpdir(), 'crewmark-tests-'));
  const server = await startEmbeddedPostgres(dataDir);
  const admin = new pg.Client({ connectionString: server.url });
  await admin.connect();
  await admin.query('CREATE DATABASE empty_template');
  const template = new pg.Client({ connectionString: databaseUrl(server.url, 'empty_template') });
  await template.connect();
  await applyMigrations(template, await readMigrations());
  await template.end();
  await admin.end();
  project.provide('postgresUrl', server.url);
  return async () => {
    await server.stop();
    await rm(dataDir, { recursive: true, force: true });
  };
}

function databaseUrl(url: string, database: string): string {
  const changed = new URL(url);
  changed.pathname = `/${database}`;
  return changed.href;
}
