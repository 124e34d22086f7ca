// @module-tag long
import Fastify, { type FastifyInstance } from 'fastify';
import request from 'supertest';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { z } from 'zod';
import { accountsPlugin } from '../../server/accounts/plugin.ts';
import { policies, withPolicy } from '../../server/accounts/policy.ts';
import { endSessionsOf, findSession, idleLifetime, startSession } from '../../server/accounts/session.ts';
import { tokenHash } from '../../server/accounts/token.ts';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// What is done to routes, whichever they are, tried on routes made here. The real ones: every-route.api.test.ts.

let database: TestDatabase;
let app: FastifyInstance;
let coordinator: TestPerson;
let observer: TestPerson;

beforeAll(async () => {
  database = await testDatabase();
  const conferenceId = await makeConference(database.pool);
  coordinator = await makePerson(database.pool, conferenceId, ['coordinator']);
  observer = await makePerson(database.pool, conferenceId, ['observer']);
  app = await buildApp(
    database,
    readConfig({ TRUST_PROXY: 'on', PUBLIC_URL: 'https://grades.example.test', LOG_LEVEL: 'silent' }),
  );
  app.get('/test/open', { config: { policy: policies.open } }, async (r) => ({
    who: r.session?.personId ?? null,
  }));
  app.get('/test/season', { config: { policy: policies.coordinator } }, async () => 'season');
  app.get('/api/test/season', { config: { policy: policies.coordinator } }, async () => 'season');
  app.post(
    '/api/test/save',
    { config: { policy: policies.signedIn }, schema: { body: z.unknown() } },
    async (r) => ({
      body: r.body ?? null,
    }),
  );
  app.post('/test/save', { config: { policy: policies.signedIn } }, async () => 'saved');
  app.post('/test/form', { config: { policy: policies.open } }, async () => 'sent');
  app.get('/api/observing', { config: { policy: policies.observer } }, async () => 'observing');
  await app.register(
    withPolicy(policies.coordinator, async (inner: FastifyInstance) => {
      inner.get('/api/inner', async () => 'inner');
      await inner.register(async (deeper) => {
        deeper.get('/api/deeper', async () => 'deeper');
      });
    }),
  );
  await app.ready();
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

let token: string;
let csrf: string;
beforeEach(async () => {
  token = await startSession(database.pool, coordinator);
  csrf = (await findSession(database.pool, token))!.session.csrfToken;
});
const cookie = (value = token) => `crewmark_session=${value}`;
const observerCookie = async () => cookie(await startSession(database.pool, observer));

test('a route without a policy cannot be registered', async () => {
  const bare = await buildApp(database, readConfig({}));
  expect(() => bare.get('/forgotten', async () => '')).toThrow(/GET \/forgotten names no policy/);
  await bare.close();
});

test('a route registered before the policies are enforced is closed to everyone', async () => {
  const early = Fastify();
  early.decorate('database', database);
  early.get('/early', async () => 'leak');
  await early.register(accountsPlugin);
  const answer = await early.inject('/early');
  expect(answer.statusCode).toBe(500);
  expect(answer.body).not.toContain('leak');
  await early.close();
});

test('signed out: a page leads to the sign-in page and back, the API says 401', async () => {
  await request(app.server)
    .get('/test/season?week=3')
    .expect(303)
    .expect('location', '/sign-in?next=%2Ftest%2Fseason%3Fweek%3D3');
  await request(app.server)
    .post('/test/save')
    .set({ referer: 'http://crewmark.test/test/season?week=3', host: 'crewmark.test' })
    .expect('location', '/sign-in?next=%2Ftest%2Fseason%3Fweek%3D3');
  await request(app.server)
    .post('/test/save')
    .set({ referer: 'https://elsewhere.test/x', host: 'crewmark.test' })
    .expect('location', '/sign-in');
  await request(app.server).get('/api/test/season').expect(401);
  await request(app.server).post('/api/test/save').expect(401);
  await request(app.server).get('/test/open').expect(200, { who: null });
});

test('the role is needed, and a changed role counts at once', async () => {
  await request(app.server).get('/api/test/season').set('cookie', cookie()).expect(200);
  const other = await observerCookie();
  await request(app.server).get('/api/test/season').set('cookie', other).expect(403);
  await request(app.server).get('/test/season').set('cookie', other).expect(403);
  await request(app.server).get('/api/observing').set('cookie', other).expect(200);
  await request(app.server).get('/api/observing').set('cookie', cookie()).expect(403);
  await request(app.server).get('/api/observing').expect(401);
  await database.pool.query('DELETE FROM person_role WHERE person_id = $1', [observer.personId]);
  await request(app.server).get('/api/observing').set('cookie', other).expect(403);
});

test("withPolicy covers a plugin's own routes, however deep", async () => {
  for (const url of ['/api/inner', '/api/deeper']) {
    await request(app.server).get(url).expect(401);
    await request(app.server)
      .get(url)
      .set('cookie', await observerCookie())
      .expect(403);
    await request(app.server).get(url).set('cookie', cookie()).expect(200);
  }
});

test('a change needs the session token: header, query or form field, and the field is not passed on', async () => {
  const post = () => request(app.server).post('/api/test/save').set('cookie', cookie());
  await post().expect(403);
  await post().set('x-csrf-token', 'wrong').expect(403);
  await post().set('x-csrf-token', csrf).expect(200);
  await post().query({ csrf }).expect(200);
  await post()
    .type('form')
    .send({ _csrf: csrf, a: '1' })
    .expect(200, { body: { a: '1' } });
  await post()
    .send({ _csrf: csrf, a: 1 })
    .expect(200, { body: { a: 1 } });
  const others = (await findSession(database.pool, await startSession(database.pool, coordinator)))!;
  await post().set('x-csrf-token', others.session.csrfToken).expect(403);
});

test('a change from another site is refused, signed in or out', async () => {
  const form = () => request(app.server).post('/test/form').set('host', 'crewmark.test');
  await form().set('origin', 'http://crewmark.test').expect(200);
  await form().set('origin', 'https://elsewhere.test').expect(403);
  await form().set('origin', 'null').expect(403);
  await form().set('sec-fetch-site', 'cross-site').expect(403);
  await form().set('sec-fetch-site', 'same-site').expect(403);
  await form().set('sec-fetch-site', 'same-origin').expect(200);
  await request(app.server)
    .post('/api/test/save')
    .set({ cookie: cookie(), 'x-csrf-token': csrf, origin: 'https://elsewhere.test' })
    .expect(403);
});

test('the database keeps no usable token', async () => {
  const { rows } = await database.pool.query('SELECT * FROM session');
  expect(JSON.stringify(rows)).not.toContain(token);
  expect(rows.map((row) => row.token_hash)).toContain(tokenHash(token));
});

test('an expired session, an inactive person and a made-up token are signed out, and the cookie is cleared', async () => {
  await database.pool.query(
    "UPDATE session SET expires_at = now() - interval '1 second' WHERE token_hash = $1",
    [tokenHash(token)],
  );
  const expired = await request(app.server)
    .get('/test/open')
    .set('cookie', cookie())
    .expect(200, { who: null });
  expect(expired.headers['set-cookie']?.[0]).toMatch(/^crewmark_session=;.*Expires=Thu, 01 Jan 1970/);
  await request(app.server).get('/api/test/season').set('cookie', cookie('made-up')).expect(401);
  const fresh = await startSession(database.pool, coordinator);
  await database.pool.query('UPDATE person SET active = false WHERE id = $1', [coordinator.personId]);
  await request(app.server).get('/api/test/season').set('cookie', cookie(fresh)).expect(401);
  await database.pool.query('UPDATE person SET active = true WHERE id = $1', [coordinator.personId]);
  await request(app.server).get('/api/test/season').set('cookie', cookie(fresh)).expect(200);
});

test('use renews a session, but never beyond thirty days from its start', async () => {
  await database.pool.query(
    "UPDATE session SET last_seen_at = now() - interval '1 hour', expires_at = now() + interval '1 hour' WHERE token_hash = $1",
    [tokenHash(token)],
  );
  const renewed = await findSession(database.pool, token);
  expect(renewed!.renewedUntil!.getTime()).toBeGreaterThan(Date.now() + (idleLifetime - 60) * 1000);
  expect((await findSession(database.pool, token))!.renewedUntil).toBeUndefined();
  await database.pool.query(
    "UPDATE session SET last_seen_at = now() - interval '1 hour', created_at = now() - interval '29 days' WHERE token_hash = $1",
    [tokenHash(token)],
  );
  const last = await findSession(database.pool, token);
  const oneDay = 24 * 3600_000;
  expect(Math.abs(last!.renewedUntil!.getTime() - Date.now() - oneDay)).toBeLessThan(60_000);
  await database.pool.query(
    "UPDATE session SET last_seen_at = now() - interval '1 hour' WHERE token_hash = $1",
    [tokenHash(token)],
  );
  const answer = await request(app.server).get('/test/open').set('cookie', cookie());
  expect(answer.headers['set-cookie']?.[0]).toMatch(/HttpOnly; SameSite=Lax$/);
});

test('behind TLS the cookie is Secure and bound to the host', async () => {
  await database.pool.query(
    "UPDATE session SET last_seen_at = now() - interval '1 hour' WHERE token_hash = $1",
    [tokenHash(token)],
  );
  const answer = await request(app.server)
    .get('/test/open')
    .set({ 'x-forwarded-proto': 'https', cookie: `__Host-${cookie()}` })
    .expect(200, { who: coordinator.personId });
  expect(answer.headers['set-cookie']?.[0]).toMatch(
    /^__Host-crewmark_session=.*; Path=\/;.*; Secure; SameSite=Lax$/,
  );
  await request(app.server)
    .get('/api/test/season')
    .set({ 'x-forwarded-proto': 'https', cookie: cookie() })
    .expect(401);
});

test("all of a person's sessions can be ended, with or without the present one", async () => {
  const here = await startSession(database.pool, observer);
  const elsewhere = await startSession(database.pool, observer);
  await endSessionsOf(database.pool, observer, here);
  expect(await findSession(database.pool, elsewhere)).toBeNull();
  expect(await findSession(database.pool, here)).not.toBeNull();
  await endSessionsOf(database.pool, observer);
  expect(await findSession(database.pool, here)).toBeNull();
  expect(await findSession(database.pool, token)).not.toBeNull();
});
