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
  const folder = await mkdtemp(join(tmpdir(), 'crewmark-bench-'));
  const server = await startEmbeddedPostgres(folder);
  try {
    const database = await openDatabase(server.url);
    try {
      const demo = await loadDemo(database.pool, () => {}, hashPassword);
      await refreshStatistics(server.url);
      return await measure(database, demo, server.url);
    } finally {
      await database.close();
    }
  } finally {
    await server.stop();
    await rm(folder, { recursive: true, force: true });
  }
}
