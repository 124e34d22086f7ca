// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { personSignedIn } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

let demo: DemoDatabase;
let app: FastifyInstance;
beforeAll(async () => {
  demo = await demoDatabase();
  app = await testApp(demo);
});
afterAll(async () => {
  await app?.close();
  await demo?.drop();
});

test('of a conference at work each role comes in at its desk, and the coordinator can call the list back', async () => {
  const { agent } = await personSignedIn(app, demo.conferenceId, ['coordinator']);
  expect((await agent.get('/')).headers.location).toBe('/desk');
  const desk = (await agent.get('/desk').expect(200)).text;
  expect(desk).toContain('things wait for you');
  expect(desk).not.toContain('id="setting-up"');
  const { rows } = await demo.pool.query<{ state: string; count: number }>(
    'SELECT state, count(*)::int AS count FROM report GROUP BY state',
  );
  for (const [state, words] of [
    ['filed', 'to review'],
    ['accepted', 'to release'],
    ['returned', 'returned report'],
  ]) {
    const { count } = rows.find((row) => row.state === state)!;
    expect(desk).toContain(`>${words} ${count}</a>`);
  }
  const list = (await agent.get('/setup').expect(200)).text;
  expect(list).toContain('Everything is set up.');
  expect((await agent.get('/season').redirects(2)).text).toContain('href="/setup"');
  for (const role of ['observer', 'official'] as const) {
    const other = await personSignedIn(app, demo.conferenceId, [role]);
    expect((await other.agent.get('/')).headers.location).toBe('/desk');
    await other.agent.get('/desk').expect(200);
    await other.agent.get('/setup').expect(403);
  }
});
