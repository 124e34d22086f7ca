// @module-tag rest
import type { FastifyInstance } from 'fastify';
import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

// Every statement that pages and the API send while a season is filled and each GET route is asked for, as three people:
// what reads or changes a table of a conference says of which one, so that a server that holds many can go to its part
// of the tables, and one that spreads them (docs/scale.md) need not ask every part.

let database: TestDatabase;
let app: FastifyInstance;
let seasons: TwoSeasons;
const statements = new Set<string>();
const plainQuery = pg.Client.prototype.query;

beforeAll(async () => {
  database = await testDatabase();
  // Noted and passed on; nothing is answered in the server's place.
  // biome-ignore lint/suspicious/noExplicitAny: the library's many ways to call it
  pg.Client.prototype.query = function noting(this: pg.Client, ...given: any[]): any {
    const [first] = given;
    const text = typeof first === 'string' ? first : first?.text;
    if (typeof text === 'string') statements.add(text.replace(/\s+/g, ' ').trim());
    // biome-ignore lint/suspicious/noExplicitAny: as above
    return (plainQuery as any).apply(this, given);
    // biome-ignore lint/suspicious/noExplicitAny: as above
  } as any;
  app = await testApp(database);
  seasons = await twoSeasons(database.pool);
});
afterAll(async () => {
  pg.Client.prototype.query = plainQuery;
  await app?.close();
  await database?.drop();
});

/** Asked of no conference, because it is not known yet, or of all of them by work in the background. */
const knownWithout = [
  /^DELETE FROM (session|account_link|import_upload|message|invitation|known_device)\b/, // old rows, of everybody
  /FROM (session|account_link|api_token)\b/, // by a token
  /token_hash|calendar_token|\btoken = \$/, // by a token
  /\bemail = \$/, // signing in: whose it is, is asked
];

async function tablesOfConferences(): Promise<string[]> {
  const { rows } = await database.pool.query<{ name: string }>(
    `SELECT c.relname AS name FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'conference_id'
      WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace
        AND c.relname NOT IN ('session', 'account_link', 'api_token')`,
  );
  return rows.map(({ name }) => name);
}

test('each statement on a table of a conference names the conference', async () => {
  const people: Record<string, string> = {
    coordinator: seasons.coordinatorId,
    observer: seasons.observerId,
    official: seasons.officialId,
  };
  const ids: Record<string, string> = {
    seasonId: seasons.first.id,
    gameId: seasons.first.gameId,
    reportId: seasons.first.reportId,
    replyId: seasons.first.replyId,
    letterId: seasons.first.letterId,
    personId: seasons.officialId,
  };
  const tables = await tablesOfConferences();
  statements.clear();
  let answered = 0;
  for (const personId of Object.values(people)) {
    const agent: SignedInAgent = await inSessionOf(app, { conferenceId: seasons.conferenceId, personId });
    for (const { method, url } of app.routesWithPolicies) {
      if (method !== 'GET' || url.includes('*') || url === '/metrics') continue;
      const address = url.replaceAll(/:(\w+)(\([^)]*\))?/g, (_, name) => ids[name] ?? seasons.first.id);
      if ((await agent.get(address)).status === 200) answered += 1;
    }
  }
  expect(answered).toBeGreaterThan(80);
  const namesTable = new RegExp(
    `\\b(FROM|JOIN|INTO|UPDATE)\\s+(ONLY\\s+)?("public"\\.)?"?(${tables.join('|')})"?\\b`,
    'i',
  );
  const onTables = [...statements].filter((text) => namesTable.test(text));
  expect(onTables.length).toBeGreaterThan(120);
  const without = onTables.filter(
    (text) => !/conference_id/.test(text) && !knownWithout.some((known) => known.test(text)),
  );
  expect(without.map((text) => text.slice(0, 160))).toEqual([]);
});
