import { once } from 'node:events';
import { connect } from 'node:net';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// Errors that the web server would answer in a form of its own: problem details for programs (RFC 9457), a page for people.

let database: TestDatabase;
let app: FastifyInstance;
let cookie: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  const conferenceId = await makeConference(database.pool);
  const person = await makePerson(database.pool, conferenceId, ['coordinator']);
  cookie = `crewmark_session=${await startSession(database.pool, { conferenceId, personId: person.personId })}`;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const long = 'a'.repeat(300);

test.each([
  '/api/%zz',
  '/api/;%zz',
  '/api/webhooks/%zz/deliveries',
  '/api/webhooks/%C0%AF/deliveries',
  `/api/${long}`,
])('an address that cannot be read or is too long (%s) is a problem of the API', async (url) => {
  const answer = await app.inject({ url, headers: { cookie } });
  expect(answer.headers['content-type']).toContain('application/problem+json');
  expect([400, 404]).toContain(answer.statusCode);
  expect(answer.json()).toMatchObject({ type: 'about:blank', status: answer.statusCode });
});

test('an id that is too long is told by its field', async () => {
  const answer = await app.inject({ url: `/api/webhooks/${long}/deliveries`, headers: { cookie } });
  expect([answer.statusCode, answer.json().errors?.[0].field]).toEqual([400, 'params.webhookId']);
});

test.each(['/%zz', '/;%zz', '/people/x;y=%zz?of=1', '/people/%zz', `/people/${long}`])(
  'for people (%s) it is a page',
  async (url) => {
    const answer = await app.inject({ url, headers: { cookie } });
    expect(answer.statusCode).toBe(404);
    expect(answer.headers['content-type']).toContain('text/html');
    expect(answer.headers['content-security-policy']).toContain("default-src 'none'");
  },
);

// RFC 9110, section 15.5.6: 405, with what is taken in Allow.
test('a method that an address does not take is told with those that it does', async () => {
  const webhook = '/api/webhooks/00000000-0000-4000-8000-000000000000';
  for (const [method, url, allow] of [
    ['PUT', '/api/webhooks', 'GET, HEAD, POST'],
    ['GET', webhook, 'DELETE, PATCH'],
    ['DELETE', '/api/docs', 'GET, HEAD'],
  ] as const) {
    const answer = await app.inject({ method, url });
    expect([url, answer.statusCode, answer.headers.allow]).toEqual([url, 405, allow]);
    expect(answer.json()).toMatchObject({ title: 'Method Not Allowed', status: 405 });
    expect(answer.json().detail).toContain(allow);
  }
  expect((await app.inject({ method: 'PUT', url: '/api/webhooks.csv' })).statusCode).toBe(404);
  // Where the method is right and the thing is not there, it is not the method.
  expect((await app.inject('/api/docs/static/no-such-file.js')).statusCode).toBe(404);
});

test('a body of a kind or size that is not taken is told with what to send', async () => {
  const post = (type: string, payload: string) =>
    app.inject({ method: 'POST', url: '/api/session', headers: { 'content-type': type }, payload });
  const kind = await post('application/xml', '<session/>');
  expect([kind.statusCode, kind.json().detail]).toEqual([415, expect.stringContaining('application/json')]);
  const size = await post('application/json', `"${'a'.repeat(6 * 1024 * 1024)}"`);
  expect([size.statusCode, size.json().detail]).toEqual([413, expect.stringContaining('send less at once')]);
});

test('what is no request is answered by problem details too', async () => {
  await app.listen({ port: 0, host: '127.0.0.1' });
  const { port } = app.server.address() as { port: number };
  for (const [sent, status] of [
    ['FOO /api/session HTTP/1.1\r\nHost: x\r\n\r\n', 400],
    [`GET / HTTP/1.1\r\nHost: x\r\nCookie: ${'a'.repeat(20_000)}\r\n\r\n`, 431],
  ] as const) {
    const socket = connect(port, '127.0.0.1');
    let answer = '';
    socket.on('data', (chunk) => {
      answer += chunk;
    });
    socket.on('error', () => {}); // what was not read yet is reset
    socket.write(sent);
    await once(socket, 'close');
    expect(answer).toMatch(new RegExp(`^HTTP/1.1 ${status} [^]*application/problem\\+json`));
    expect(JSON.parse(answer.split('\r\n\r\n')[1]!)).toMatchObject({ type: 'about:blank', status });
  }
});

test('no answer of the API is kept on the way, unless it says so', async () => {
  for (const url of ['/api/session', '/api/webhooks', '/api/people', '/api/nothing']) {
    const answer = await app.inject({ url, headers: { cookie } });
    expect([url, answer.headers['cache-control']]).toEqual([url, 'no-store']);
  }
});
