// @module-tag long
import { createRequire } from 'node:module';
import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { foulSchema } from '../../server/football/fouls.ts';
import { facts } from '../../server/football/play.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

test('GET /health says alive and GET /ready says ready on a migrated database', async () => {
  expect((await supertest(app.server).get('/health')).body).toEqual({ status: 'alive' });
  const ready = await supertest(app.server).get('/ready');
  expect(ready.status).toBe(200);
  expect(ready.body).toEqual({ status: 'ready' });
});

test('the API describes itself as OpenAPI 3.1', async () => {
  const { body } = await supertest(app.server).get('/api/openapi.json');
  expect(body.openapi).toMatch(/^3\.1\./);
  expect(Object.keys(body.paths)).toContain('/health');
  expect(body.info.version).toBe(createRequire(import.meta.url)('../../package.json').version);
});

test('the API describes every fact of a play, and every part of a foul', async () => {
  const { body } = await supertest(app.server).get('/api/openapi.json');
  const described: Record<string, { description?: string; properties?: object }>[] = [];
  JSON.stringify(body, (_, value) => {
    if (value?.properties?.kickTo && value.properties.fouls) described.push(value.properties);
    return value;
  });
  expect(described.length).toBeGreaterThan(0);
  for (const play of described) {
    expect(Object.keys(play).sort()).toEqual([...facts].sort());
    for (const fact of facts) expect(play[fact]?.description, fact).toBeTruthy();
    const foul = (
      play.fouls as unknown as { items: { properties: Record<string, { description?: string }> } }
    ).items.properties;
    expect(Object.keys(foul)).toEqual(Object.keys(foulSchema.shape));
    for (const part of Object.values(foul)) expect(part.description).toBeTruthy();
  }
});

test('an unknown address under /api is answered by problem details (RFC 9457, section 3)', async () => {
  const response = await supertest(app.server).get('/api/none-such');
  expect(response.status).toBe(404);
  expect(response.headers['content-type']).toMatch(/^application\/problem\+json/);
  expect(JSON.parse(response.text)).toEqual({
    type: 'about:blank',
    title: 'Not Found', // RFC 9110's phrase, as RFC 9457 (4.2.1) asks with about:blank
    status: 404,
    detail: 'There is nothing at this address.',
    instance: '/api/none-such',
  });
});

test('an unknown page is answered by a page', async () => {
  const response = await supertest(app.server).get('/none-such');
  expect(response.status).toBe(404);
  expect(response.text).toContain('There is nothing at this address.');
});
