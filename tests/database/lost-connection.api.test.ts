// @module-tag long
import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { databaseTrouble } from '../../server/database/trouble.ts';
import { makeConference } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let admin: pg.Client;
let agent: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database, { LOG_LEVEL: 'silent' });
  admin = new pg.Client({ connectionString: database.url });
  await admin.connect();
  const conferenceId = await makeConference(database.pool);
  ({ agent } = await personSignedIn(app, conferenceId, ['coordinator']));
});
afterAll(async () => {
  await admin.end();
  await app.close();
  await database.drop();
});

const cutAll = () =>
  admin.query(
    'SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()',
  );

// A connection whose error nobody listens to ends the process, which the runner would report here as unhandled.
test('all connections cut under load, many times: none ends the process, and what was confirmed is there once', async () => {
  const confirmed: string[] = [];
  const statuses = new Map<number, number>();
  let going = true;
  const count = (status: number) => statuses.set(status, (statuses.get(status) ?? 0) + 1);
  const venues = async () => {
    while (going) {
      const name = `Field ${randomUUID()}`;
      const file = `name,latitude,longitude,time zone\n${name},41.88,-87.78,America/Chicago\n`;
      const answer = await agent.post('/api/imports/venues').set('content-type', 'text/csv').send(file);
      count(answer.status);
      if (answer.status === 200) confirmed.push(name);
      else expect(answer.headers['retry-after']).toBeDefined();
    }
  };
  const pages = async () => {
    while (going) count((await agent.get('/import')).status);
  };
  const transactions = async () => {
    while (going) {
      await inTransaction(database.pool, async (client) => {
        await client.query('SELECT pg_sleep(0.02)');
      }).catch((error) => expect(databaseTrouble(error)).toBe('away'));
    }
  };
  const rows = async () => {
    while (going)
      await database.prisma.conference
        .findMany()
        .catch((error) => expect(databaseTrouble(error)).toBe('away'));
  };
  const load = Promise.all([venues(), venues(), pages(), transactions(), transactions(), rows()]);
  // On a busy machine an import may take longer than from one cut to the next: then they become rarer until one is done.
  for (let round = 0; round < 40 || (confirmed.length === 0 && round < 120); round++) {
    const rarer = 50 * Math.max(0, round - 39);
    await new Promise((resolve) => setTimeout(resolve, 20 + rarer + Math.random() * 80));
    await cutAll();
  }
  going = false;
  await load;
  expect([...statuses.keys()].filter((status) => status !== 200 && status !== 503)).toEqual([]);
  expect(statuses.get(503) ?? 0).toBeGreaterThan(0);
  const { rows: kept } = await admin.query('SELECT name, count(*)::int AS times FROM venue GROUP BY name');
  const times = new Map(kept.map((row) => [row.name, row.times]));
  expect(confirmed.length).toBeGreaterThan(0);
  expect(confirmed.filter((name) => times.get(name) !== 1)).toEqual([]);
});

test('without a database, /ready says 503 and requests get 503 with Retry-After, as problem or page', async () => {
  const name = new URL(database.url).pathname.slice(1);
  const elsewhere = new pg.Client({ connectionString: database.url.replace(`/${name}`, '/postgres') });
  await elsewhere.connect();
  await elsewhere.query(`ALTER DATABASE ${name} CONNECTION LIMIT 0`);
  try {
    await cutAll();
    const ready = await agent.get('/ready');
    expect([ready.status, ready.body.status]).toEqual([503, 'not ready']);
    const problem = await agent.get('/api/session');
    expect([problem.status, problem.headers['retry-after']]).toEqual([503, '2']);
    expect(JSON.parse(problem.text)).toMatchObject({ status: 503, title: 'Service Unavailable' });
    const page = await agent.get('/import');
    expect([page.status, page.headers['retry-after']]).toEqual([503, '2']);
    expect(page.text).toContain('The database does not answer');
  } finally {
    await elsewhere.query(`ALTER DATABASE ${name} CONNECTION LIMIT -1`);
    await elsewhere.end();
  }
  expect((await agent.get('/import')).status).toBe(200);
  expect((await agent.get('/ready')).status).toBe(200);
});
