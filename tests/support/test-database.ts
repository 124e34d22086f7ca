import { randomUUID } from 'node:crypto';
import pg from 'pg';
import { inject } from 'vitest';
import { connect, type Database } from '../../server/database/database.ts';

export type TestDatabase = Database & {
  /** Connection string of the database's owner (not the application's role). */
  url: string;
  /** Closes the connections and drops the database. */
  drop(): Promise<void>;
};

/** A database of its own for a test file: migrated and empty, or a copy of `template`. */
export async function testDatabase(template = 'empty_template'): Promise<TestDatabase> {
  const serverUrl = inject('postgresUrl');
  const name = `test_${randomUUID().replaceAll('-', '')}`;
  // By files: page by page through the log, as by default, takes twice the time for a season.
  await asAdmin(serverUrl, `CREATE DATABASE ${name} TEMPLATE ${template} STRATEGY file_copy`);
  const url = new URL(serverUrl);
  url.pathname = `/${name}`;
  const database = connect(url.href);
  return {
    ...database,
    url: url.href,
    async drop() {
      await database.close();
      await asAdmin(serverUrl, `DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
    },
  };
}

async function asAdmin(url: string, sql: string): Promise<void> {
  const admin = new pg.Client({ connectionString: url });
  await admin.connect();
  try {
    await admin.query(sql);
  } finally {
    await admin.end();
  }
}
