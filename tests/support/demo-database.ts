import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import { inject } from 'vitest';
import { type DemoLoad, demoIsLoaded, loadDemo } from '../../seed-demo/load.ts';
import { readDemoSignIns } from '../../seed-demo/sign-ins.ts';
import { hashPassword } from '../../server/accounts/password.ts';
import { connect, refreshStatistics } from '../../server/database/database.ts';
import { Calculator } from '../../server/results/calculator.ts';
import { seasonResults } from '../../server/results/season-results.ts';
import { demoSeason } from './demo-season.ts';
import { type TestDatabase, testDatabase } from './test-database.ts';

export type DemoDatabase = TestDatabase & {
  conferenceId: string;
  seasonId: string;
  /** E-mail of the demo sign-in of each role; the password is `demoPassword` of seed-demo/load.ts. */
  signIns: Record<'coordinator' | 'observer' | 'official', string>;
};

const template = 'demo_template';

/**
 * A copy of the loaded demo season, for a test file to use as it likes. The first to ask loads it, others wait. Its
 * standings, patterns and double games are kept already; whatever changes a count has them found anew.
 */
export async function demoDatabase(): Promise<DemoDatabase> {
  await makeTemplate();
  const database = await testDatabase(template);
  const { rows } = await database.pool.query<{ conferenceId: string; seasonId: string }>(
    'SELECT conference_id AS "conferenceId", id AS "seasonId" FROM season',
  );
  const signIns = Object.fromEntries(
    (await readDemoSignIns(database.pool))!.map(({ role, email }) => [role, email]),
  ) as DemoDatabase['signIns'];
  return { ...database, ...rows[0]!, signIns };
}

/** How the season of the template was loaded: cut off in the middle, as by a kill, and taken up again. */
export interface DemoLoading {
  said: string[];
  /** Steps told until it was cut off, and whether it was taken for loaded then. */
  cutOff: { steps: number; loaded: boolean };
  loaded: DemoLoad;
}

const loadingFile = () => path.join(process.env.CREWMARK_TEST_RUN!, 'demo-loading.json');

/** Of the season that `demoDatabase` has given a copy of. */
export const readDemoLoading = (): DemoLoading => JSON.parse(readFileSync(loadingFile(), 'utf8'));

async function loadInTwoGoes(pool: pg.Pool): Promise<DemoLoad> {
  const said: string[] = [];
  const cut = new Error('cut off');
  await loadDemo(
    pool,
    (line) => {
      said.push(line);
      if (line.startsWith('Filed 20 of')) throw cut;
    },
    hashPassword,
    undefined,
    demoSeason,
  ).catch((error) => {
    if (error !== cut) throw error;
  });
  const cutOff = { steps: said.length, loaded: await demoIsLoaded(pool) };
  const loaded = await loadDemo(pool, (line) => said.push(line), hashPassword, undefined, demoSeason);
  writeFileSync(loadingFile(), JSON.stringify({ said, cutOff, loaded } satisfies DemoLoading));
  return loaded;
}

async function makeTemplate(): Promise<void> {
  const admin = new pg.Client({ connectionString: inject('postgresUrl') });
  await admin.connect();
  try {
    // One test process makes it; the lock is let go when the connection ends, even if that process dies.
    await admin.query('SELECT pg_advisory_lock(4711)');
    const { rowCount } = await admin.query('SELECT FROM pg_database WHERE datname = $1', [template]);
    if (rowCount) return;
    const unfinished = `${template}_unfinished`;
    await admin.query(`DROP DATABASE IF EXISTS ${unfinished} WITH (FORCE)`);
    await admin.query(`CREATE DATABASE ${unfinished} TEMPLATE empty_template`);
    const url = new URL(inject('postgresUrl'));
    url.pathname = `/${unfinished}`;
    const database = connect(url.href);
    const calculator = new Calculator();
    try {
      const { conferenceId, seasonId } = await loadInTwoGoes(database.pool);
      // PostgreSQL's own gathering is off in tests. As the owner: for another role ANALYZE passes over the tables.
      await refreshStatistics(url.href);
      // Kept in every copy, as of the season untouched: ten seconds of processor time that each file would take anew.
      const results = seasonResults(database.pool, calculator);
      await results.allStandingsOf(conferenceId, seasonId);
      await results.patternsOf(conferenceId, seasonId);
      await results.detectionOf(conferenceId, seasonId);
    } finally {
      await calculator.close();
      await database.close();
    }
    await admin.query(`ALTER DATABASE ${unfinished} RENAME TO ${template}`);
  } finally {
    await admin.end();
  }
}
