// @module-tag long
import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { masked, newToken, unmasked } from '../../server/accounts/token.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// How answers are packed, and which are kept: RFC 9110 (content negotiation, section 12.5.3; conditional requests, 13) and
// RFC 8246 (immutable).

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

const get = (url: string, headers: Record<string, string> = {}) => app.inject({ url, headers });
const linkedFrom = (page: string) =>
  [...page.matchAll(/(?:href|src)="(\/assets\/[^"]+)"/g)].map(([, url]) => url!);

describe('what a page loads', () => {
  test('is named by its content, kept for good, and packed as the browser takes it', async () => {
    const page = (await get('/sign-in')).body;
    const style = linkedFrom(page).find((url) => url.endsWith('.css'))!;
    expect(style).toMatch(/^\/assets\/style-\w{10}\.css$/);
    const plain = await get(style);
    expect(plain.headers['cache-control']).toBe('public, max-age=31536000, immutable');
    expect(plain.headers.vary).toBe('accept-encoding');
    expect(plain.headers['content-encoding']).toBeUndefined();
    const [brotli, gzip, refused] = await Promise.all(
      ['gzip, deflate, br', 'gzip;q=0.5', 'br;q=0, gzip; q=0.0'].map((accepted) =>
        get(style, { 'accept-encoding': accepted }),
      ),
    );
    expect(brotli!.headers['content-encoding']).toBe('br');
    expect(brotliDecompressSync(brotli!.rawPayload).equals(plain.rawPayload)).toBe(true);
    expect(gzip!.headers['content-encoding']).toBe('gzip');
    expect(gunzipSync(gzip!.rawPayload).equals(plain.rawPayload)).toBe(true);
    expect(refused!.headers['content-encoding']).toBeUndefined();
    expect(new Set([plain, brotli!, gzip!].map(({ headers }) => headers.etag)).size).toBe(3);
  });

  test('is all there, and is not sent again where the browser has it', async () => {
    const urls = linkedFrom((await get('/sign-in')).body);
    expect(urls.length).toBeGreaterThan(3);
    for (const url of [
      ...urls,
      '/assets/offline.js',
      '/favicon.ico',
      ...(await get('/assets/kept-offline.json')).json(),
    ]) {
      const first = await get(url);
      expect([url, first.statusCode, first.rawPayload.length > 0]).toEqual([url, 200, true]);
      const again = await get(url, { 'if-none-match': `"other", ${first.headers.etag}` });
      expect([url, again.statusCode, again.rawPayload.length]).toEqual([url, 304, 0]);
    }
  });
});

describe('an answer', () => {
  test('that is a page or long JSON is packed', async () => {
    for (const url of ['/people', '/api/openapi.json']) {
      const plain = await get(url, { cookie });
      const packed = await get(url, { cookie, 'accept-encoding': 'br' });
      expect(packed.headers['content-encoding']).toBe('br');
      expect(packed.headers.vary).toMatch(/accept-encoding/i);
      expect(packed.rawPayload.length).toBeLessThan(plain.rawPayload.length / 2);
    }
  });

  // BREACH: a secret beside what the attacker can put in, packed together.
  test('that repeats what a form brought, or holds a secret, is not', async () => {
    const typed = 'x'.repeat(3000);
    const refused = await app.inject({
      method: 'POST',
      url: '/sign-in',
      headers: { 'accept-encoding': 'br', 'content-type': 'application/x-www-form-urlencoded' },
      payload: `email=${typed}&password=wrong`,
    });
    expect(refused.headers['content-encoding']).toBeUndefined();
    for (const url of ['/api/session', '/my/account/second-factor']) {
      const answer = await get(url, { cookie, 'accept-encoding': 'br' });
      expect([url, answer.statusCode, answer.headers['content-encoding']]).toEqual([url, 200, undefined]);
    }
  });

  test('never shows the token of its forms twice alike, and takes each', async () => {
    const tokens = await Promise.all(
      [1, 2].map(
        async () => /name="_csrf" value="([^"]+)"/.exec((await get('/people', { cookie })).body)![1]!,
      ),
    );
    expect(tokens[0]).not.toBe(tokens[1]);
    for (const _csrf of tokens) {
      const answer = await app.inject({
        method: 'POST',
        url: '/season-in-view',
        headers: { cookie, 'content-type': 'application/x-www-form-urlencoded' },
        payload: new URLSearchParams({ _csrf }).toString(),
      });
      expect(answer.statusCode).not.toBe(403);
    }
  });
});

test('a masked token is its own token again, and another text stays as it is', () => {
  for (let draw = 0; draw < 100; draw++) {
    const token = newToken();
    expect(unmasked(masked(token))).toBe(token);
    expect(unmasked(token)).toBe(token);
  }
  expect(unmasked('no such token')).toBe('no such token');
});
