// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { demoPassword } from '../../seed-demo/load.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

// The main job from end to end: play log and reports through the import, to standings and an official's season.

let database: DemoDatabase;
let app: FastifyInstance;
beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

test('the season page shows every game with its reports', async () => {
  const coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
  const page = await coordinator.get(`/seasons/${database.seasonId}?week=all`);
  expect(page.status).toBe(200);
  const games = await database.pool.query('SELECT id FROM game');
  for (const { id } of games.rows) expect(page.text).toContain(`/games/${id}`);
});

test('an official sees their own released season, and no page of anybody else or of the coordinator', async () => {
  const official = await signedInAgent(app, database.signIns.official, demoPassword);
  const own = await official.get('/my/evaluation');
  expect(own.status).toBe(200);
  const { rows } = await database.pool.query(
    "SELECT id, given_name || ' ' || family_name AS name FROM person WHERE email <> $1",
    [database.signIns.official],
  );
  for (const { name } of rows) expect(own.text).not.toContain(name);
  for (const path of [`/seasons/${database.seasonId}`, `/seasons/${database.seasonId}/standings`]) {
    expect((await official.get(path)).status).toBe(403);
  }
  expect((await official.get(`/seasons/${database.seasonId}/officials/${rows[0].id}`)).status).toBe(403);
});

test('an official is told how sure their grade is, and may answer the marks of their latest game', async () => {
  const official = await signedInAgent(app, database.signIns.official, demoPassword);
  const evaluation = (await official.get('/my/evaluation')).text;
  const [, low, high] = /it could as well be <b>([\d.]+)<\/b> or <b>([\d.]+)<\/b>/.exec(evaluation)!;
  const adjusted = Number(/Evened out for observers and games: <b>([\d.]+)<\/b>/.exec(evaluation)![1]);
  expect(Number(low)).toBeLessThan(adjusted);
  expect(Number(high)).toBeGreaterThan(adjusted);
  const marks = (await official.get('/my/marks')).text;
  expect(marks).toContain('You can answer until the end of');
  expect(marks).toContain('The time to answer ended on');
  expect(marks).toMatch(/href="\/observations\/[0-9a-f-]+\/reply"/);
});

test('releasing, and nothing else, moves the revision that the standings are kept by', async () => {
  const revision = async () =>
    (await database.pool.query('SELECT input_revision FROM season')).rows[0].input_revision as string;
  const before = await revision();
  await database.pool.query("UPDATE report SET general_comment = 'x' WHERE state = 'draft'");
  await database.pool.query(
    "UPDATE opportunity_count SET model = model WHERE report_id IN (SELECT id FROM report WHERE state = 'filed')",
  );
  expect(await revision()).toBe(before);
  await database.pool.query(
    "UPDATE report SET state = 'released', released_at = now() WHERE id = (SELECT id FROM report WHERE state = 'accepted' LIMIT 1)",
  );
  expect(BigInt(await revision())).toBeGreaterThan(BigInt(before));
});
