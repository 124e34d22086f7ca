import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type DemoLoad, loadDemo } from '../../seed-demo/load.ts';
import { hashPassword } from '../../server/accounts/password.ts';
import { type Database, openDatabase, refreshStatistics } from '../../server/database/database.ts';
import { startEmbeddedPostgres } from '../../server/database/embedded.ts';

/** Runs `measure` on a PostgreSQL of its own that holds the demo season. */
export async function withDemoDatabase<Result>(
  measure: (database: Database, demo: DemoLoad, url: string) => Promise<Result>,
): Promise<Result> {
  return withDemoServer(async (url, demo) => {
    const database = await openDatabase(url);
    try {
      return await measure(database, demo, url);
    } finally {
      await database.close();
    }
  });
}

/** The same with nobody connected, so that the database can be copied. */
export async function withDemoServer<Result>(
  measure: (url: string, demo: DemoLoad) => Promise<Result>,
): Promise<Result> {
  const folder = await mkdtemp(join(tmpdir(), 'crewmark-bench-'));
  const server = await startEmbeddedPostgres(folder);
  try {
    const database = await openDatabase(server.url);
    let demo: DemoLoad;
    try {
      demo = await loadDemo(database.pool, () => {}, hashPassword);
      await refreshStatistics(server.url);
    } finally {
      await database.close();
    }
    return await measure(server.url, demo);
  } finally {
    await server.stop();
    await rm(folder, { recursive: true, force: true });
  }
}
