// @module-tag rest
import fc from 'fast-check';
import type { FastifyInstance, HTTPMethods } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { z } from 'zod';
import { demoPassword } from '../../seed-demo/load.ts';
import { type Role, roles, staffRoles } from '../../server/accounts/roles.ts';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { anyCharacters } from '../support/any-characters.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { makePerson } from '../support/people.ts';
import { signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

// Requests made from each route's own schema, with one value in each exchanged for what breaks programs: no route of
// any role answers 500, and text that cannot be kept is refused by the name of its field.

let database: DemoDatabase;
let app: FastifyInstance;
const sessions = {} as Record<Role, { cookie: string; 'x-csrf-token': string }>;
/** Ids of things that are there, so that requests get past what looks them up. */
let ids: Record<string, string>;

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  const { pool } = database;
  const one = async (sql: string) =>
    (await pool.query(`SELECT id FROM ${sql} LIMIT 1`)).rows[0]?.id as string;
  ids = {
    seasonId: database.seasonId,
    gameId: await one('game'),
    reportId: await one("report WHERE state = 'released'"),
    observationId: await one('observation'),
    personId: await one('person'),
    playId: await one('play WHERE game_id = (SELECT id FROM game LIMIT 1)'),
  };
  for (const role of staffRoles) {
    const { cookies, csrfToken } = await signIn(database.signIns[role]);
    sessions[role] = { cookie: cookies, 'x-csrf-token': csrfToken };
  }
  // The demo season has nobody who asks for a team.
  const { rows } = await pool.query<{ conference_id: string; id: string }>(
    'SELECT conference_id, id FROM team LIMIT 1',
  );
  const { conference_id: conferenceId, id: teamId } = rows[0]!;
  const contact = await makePerson(pool, conferenceId, ['team contact']);
  await pool.query('INSERT INTO team_contact (conference_id, person_id, team_id) VALUES ($1, $2, $3)', [
    ...[conferenceId, contact.personId, teamId],
  ]);
  const token = await startSession(pool, contact);
  const { csrfToken } = (await findSession(pool, token))!.session;
  sessions['team contact'] = { cookie: `crewmark_session=${token}`, 'x-csrf-token': csrfToken };
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

async function signIn(email: string) {
  const agent = await signedInAgent(app, email, demoPassword);
  const asked = await agent.get('/api/session');
  return { cookies: String(asked.request.cookies), csrfToken: agent.csrfToken };
}

type Json = z.core.JSONSchema.BaseSchema;

const jsonOf = (schema: unknown): Json | undefined =>
  schema instanceof z.ZodType
    ? (z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }) as Json)
    : undefined;

/** A value that the schema takes, as plain as can be. */
function plain(schema: Json, name = ''): unknown {
  if (schema.const !== undefined) return schema.const;
  if (schema.enum) return schema.enum[0];
  const either = schema.anyOf ?? schema.oneOf ?? schema.allOf;
  if (either) return plain(either[0] as Json, name);
  switch (schema.type) {
    case 'object':
      return Object.fromEntries(
        Object.entries(schema.properties ?? {}).map(([key, inner]) => [key, plain(inner as Json, key)]),
      );
    case 'array':
      return schema.items ? [plain(schema.items as Json, name.replace(/s$/, ''))] : [];
    case 'integer':
    case 'number':
      return schema.minimum ?? 1;
    case 'boolean':
      return true;
    case 'null':
      return null;
    default:
      if (schema.format === 'uuid') return ids[name] ?? '00000000-0000-4000-8000-000000000000';
      if (schema.format === 'date') return '2031-09-06';
      return 'A text.';
  }
}

type Path = (string | number)[];

/** Every place inside a value that holds no others. */
function leaves(value: unknown, path: Path = []): Path[] {
  if (typeof value !== 'object' || value === null) return [path];
  return Object.entries(value).flatMap(([key, inner]) => leaves(inner, [...path, key]));
}

function exchanged(value: unknown, path: Path, by: unknown): unknown {
  const [key, ...rest] = path;
  if (key === undefined) return by;
  const copy = (Array.isArray(value) ? [...value] : { ...(value as object) }) as Record<string, unknown>;
  copy[key] = exchanged(copy[key], rest, by);
  return copy;
}

const unkeepable = ['\u0000', 'a\u0000b', '\ud800', 'x\udc00y', '\u0007'];
const hostileTexts = [
  ...unkeepable,
  '',
  ' ',
  "'; DROP TABLE person; --",
  '<script>alert(1)</script>',
  '{{#each @root}}{{/each}}',
  '../../etc/passwd',
  '%00',
  '%',
  '\u202e\u2066',
  '\ufeff',
  '👩🏽‍⚖️'.repeat(50),
  'x'.repeat(100_000),
  '__proto__',
  'constructor',
  'null',
  'NaN',
  '0000-01-01',
  '9999-12-31',
  '-------------------------------------',
];
const hostileNumbers = [
  ...[0, -1, 1.5, 2_147_483_647, 2_147_483_648, -2_147_483_649, 9_007_199_254_740_991, 2 ** 53],
  ...[1e21, 1e308, -1e308, 5e-324, -0],
];
const hostileText = fc.oneof(fc.constantFrom(...hostileTexts), anyCharacters({ maxLength: 40 }));
const hostile = fc.oneof(
  hostileText,
  fc.constantFrom<unknown>(...hostileNumbers, ...hostileNumbers.map(String)),
  fc.constantFrom<unknown>(null, true, [], {}, [[[]]], { a: { b: null } }, ['x', 'x']),
);

type Sent = { params: Record<string, unknown>; query: Record<string, unknown>; body: unknown };

/** What takes seconds on purpose when it is given what it wants. */
const slow =
  /observer-plans|\/observers\/weeks\/:week\/(plan|propose)|letter-batches|\/letters\/(batch|make)/;

const routes = () =>
  app.routesWithPolicies.filter(
    ({ method, url }) => method !== 'HEAD' && !url.includes('*') && !/^\/(assets|api\/docs)/.test(url),
  );

function requestsOf(route: ReturnType<typeof routes>[number]): { sent: Sent; places: Path[] } {
  const { params, querystring, body } = (route.schema ?? {}) as Record<string, unknown>;
  const names = [...route.url.matchAll(/:(\w+)/g)].map((match) => match[1]!);
  const byHand = Object.fromEntries(names.map((name) => [name, ids[name] ?? 'none']));
  const ofSchema = jsonOf(params) ? (plain(jsonOf(params)!) as Record<string, unknown>) : {};
  const bodySchema = jsonOf(body);
  const sent: Sent = {
    params: { ...byHand, ...ofSchema },
    query: jsonOf(querystring)
      ? (plain(jsonOf(querystring)!) as Record<string, unknown>)
      : { done: 'x', page: '1' },
    body:
      route.method === 'GET' || route.method === 'HEAD'
        ? undefined
        : bodySchema
          ? plain(bodySchema)
          : { reason: 'A text.', text: 'A text.', note: 'A text.', comment: 'A text.' },
  };
  return { sent, places: leaves({ ...sent, ...(sent.body === undefined ? { body: null } : {}) }) };
}

async function send(role: Role, route: ReturnType<typeof routes>[number], sent: Sent) {
  const { method, url } = route;
  const path = url.replaceAll(/:(\w+)(\([^)]*\))?/g, (_, name) => encoded(sent.params[name]));
  const query = Object.entries(sent.query ?? {})
    .map(([key, value]) => `${encoded(key)}=${encoded(value)}`)
    .join('&');
  const form = !url.startsWith('/api/');
  const flat = typeof sent.body === 'object' && sent.body !== null ? sent.body : {};
  const withBody = method !== 'GET' && sent.body !== undefined;
  const payload = form
    ? Object.entries(flat)
        .map(([key, value]) => `${encoded(key)}=${encoded(value)}`)
        .join('&')
    : JSON.stringify(sent.body);
  return app.inject({
    method: method as HTTPMethods,
    url: `${path}${query ? `?${query}` : ''}`,
    headers: {
      ...sessions[role],
      ...(withBody
        ? { 'content-type': form ? 'application/x-www-form-urlencoded' : 'application/json' }
        : {}),
    },
    ...(withBody ? { payload } : {}),
  });
}

/** As an address or form carries it; halves of pairs as the bytes that would spell them. */
const encoded = (value: unknown) =>
  encodeURIComponent(
    (typeof value === 'object' ? JSON.stringify(value) : String(value)).replaceAll(
      /\p{Surrogate}/gu,
      '\ufffd',
    ),
  );

// The same each time, so that a failure can be repeated; SEED and ROUNDS try others, as npm run faults does by chance.
const seed = Number(process.env.SEED ?? 20_261_128);
const rounds = Number(process.env.ROUNDS ?? 1);

test.each(roles)('as %s, no request makes the server fail', async (role) => {
  const failures: string[] = [];
  let made = 0;
  for (const [at, route] of routes().entries()) {
    if (/session$|sign-out|other-sessions/.test(route.url)) continue; // ends the session that the test works in
    const { sent, places } = requestsOf(route);
    const values = fc.sample(fc.tuple(fc.nat(), hostile), { seed: seed + at, numRuns: rounds });
    for (const [choice, value] of values) {
      if (places.length === 0) break;
      if (slow.test(route.url) && typeof value !== 'string') continue;
      const place = places[choice % places.length]!;
      const request = exchanged(sent, place, value) as Sent;
      const answer = await send(role, route, request);
      made++;
      if (answer.statusCode >= 500) {
        failures.push(
          `${route.method} ${route.url} ${place.join('.')} = ${JSON.stringify(value)?.slice(0, 60)}`,
        );
      }
    }
  }
  expect(made).toBeGreaterThan(150);
  expect(failures).toEqual([]);
});

test('text that cannot be kept is refused with 422 and the name of its field, by every route of the API with a body', async () => {
  const wrong: string[] = [];
  let tried = 0;
  for (const route of routes()) {
    const { body } = (route.schema ?? {}) as Record<string, unknown>;
    if (!route.url.startsWith('/api/') || !jsonOf(body) || /session|imports/.test(route.url)) continue;
    const { sent } = requestsOf(route);
    for (const place of leaves(sent.body)) {
      if (place.length === 0) continue;
      for (const text of ['a\u0000b', 'a\ud800']) {
        const request = { ...sent, body: exchanged(sent.body, place, text) };
        const answer = await send('coordinator', route, request);
        const where = `${route.method} ${route.url} ${place.join('.')}`;
        if ([403, 404].includes(answer.statusCode)) continue; // another role's, or nobody's
        tried++;
        if (answer.statusCode !== 422 || answer.json().errors?.[0]?.field !== ['body', ...place].join('.')) {
          wrong.push(`${where}: ${answer.statusCode} ${answer.body.slice(0, 120)}`);
        }
      }
    }
  }
  expect(tried).toBeGreaterThan(30);
  expect(wrong).toEqual([]);
});

test('a number beyond what a column holds is refused where it is asked for, on the API and on a page', async () => {
  for (const url of [
    `/api/seasons/${database.seasonId}/rubric?version=2147483648`,
    `/seasons/${database.seasonId}/rubric?version=2147483648`,
    `/seasons/${database.seasonId}/letters/template?version=2147483648`,
    `/reports/${ids.reportId}/revisions/2147483648`,
    '/trail?below=2147483648',
  ]) {
    const answer = await app.inject({ url, headers: sessions.coordinator });
    expect([url, answer.statusCode >= 400 && answer.statusCode < 500]).toEqual([url, true]);
  }
});

test('a field, or a body, that a route of the API does not know is refused', async () => {
  const post = (url: string, payload: object) =>
    app.inject({ method: 'POST', url, payload, headers: sessions.coordinator });
  const misspelt = await post('/api/observer-assignments', { offers: [] });
  expect(misspelt.statusCode).toBe(400);
  expect(misspelt.body).toContain('offers');
  const nothing = await post('/api/observer-assignments', {});
  expect(nothing.statusCode).toBe(400);
  expect(nothing.json().errors[0].field).toBe('body.offer');
  const none = await post(`/api/reports/${ids.reportId}/accept`, { really: true });
  expect(none.statusCode).toBe(422);
  expect(none.json().errors).toEqual([
    { field: 'body', message: 'must be left out, this request takes none' },
  ]);
});

test('a body nested by the hundred thousand is refused, not recursed into', async () => {
  for (const payload of [
    '['.repeat(200_000) + ']'.repeat(200_000),
    `${'{"a":'.repeat(200_000)}1${'}'.repeat(200_000)}`,
  ]) {
    const answer = await app.inject({
      method: 'POST',
      url: '/api/observer-assignments',
      payload,
      headers: { ...sessions.coordinator, 'content-type': 'application/json' },
    });
    expect(answer.statusCode).toBeGreaterThanOrEqual(400);
    expect(answer.statusCode).toBeLessThan(500);
  }
});
