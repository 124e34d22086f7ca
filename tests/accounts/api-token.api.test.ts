// @module-tag rest
import type { FastifyInstance, HTTPMethods } from 'fastify';
import pg from 'pg';
import supertest from 'supertest';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { verifyAudit } from '../../server/accounts/audit/audit-verification.ts';
import { policies } from '../../server/accounts/policy.ts';
import { type StaffRole as Role, staffRoles as roles } from '../../server/accounts/roles.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// A token may what its role may and nothing else: tried on every route of the application as it is composed. Header and
// challenges as RFC 6750 says.

let database: TestDatabase;
let app: FastifyInstance;
let conferenceId: string;
/** Has all three roles, so that only the token's own role can be what holds it back. */
let maker: TestPerson;
let person: SignedInAgent;
const tokenOf = {} as Record<Role, string>;
const agentOf = {} as Record<Role, SignedInAgent>;
let reader: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  conferenceId = await makeConference(database.pool);
  maker = await makePerson(database.pool, conferenceId, [...roles]);
  person = await inSessionOf(app, maker);
  for (const role of roles) {
    tokenOf[role] = (await make({ name: `for the ${role}`, role })).token;
    agentOf[role] = await inSessionOf(app, await makePerson(database.pool, conferenceId, [role]));
  }
  reader = (await make({ name: 'reads', role: 'coordinator', readOnly: true })).token;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const make = async (body: object): Promise<{ id: string; token: string; expiresAt: string }> =>
  (await person.post('/api/tokens').send(body).expect(201)).body;
const routes = () =>
  app.routesWithPolicies.filter(
    ({ method, url }) => method !== 'HEAD' && !/^\/(assets\/|metrics$)/.test(url),
  );
const addressOf = (url: string) =>
  url.replaceAll(/:\w+(\([^)]*\))?/g, '00000000-0000-4000-8000-000000000000').replace('*', 'none');
const by = (token: string, method: string, url: string, headers: object = {}) =>
  app.inject({
    method: method as HTTPMethods,
    url,
    headers: { authorization: `Bearer ${token}`, ...headers },
  });
const peopleOnly = new Set([
  ...['POST /api/session', 'GET /api/session', 'DELETE /api/session', 'PUT /api/session/password'],
  ...['POST /api/account-links/use', 'POST /api/people', 'PATCH /api/people/:personId'],
  ...['POST /api/people/:personId/link'],
  ...['PUT /api/retention', 'POST /api/retention/runs'],
  ...['GET /api/tokens', 'POST /api/tokens', 'DELETE /api/tokens/:tokenId'],
]);

test.each(roles)(
  'a token of the role %s, on every route: what the role may and nothing else',
  async (role) => {
    let taken = 0;
    for (const { method, url, policy } of routes()) {
      const where = `${method} ${url}`;
      const { statusCode, headers } = await by(tokenOf[role], method, addressOf(url));
      if (
        /^\/(health|ready|favicon\.ico|offline\.js)$/.test(url) ||
        (policy === policies.open && url.startsWith('/api/') && !peopleOnly.has(where))
      ) {
        expect([where, statusCode < 400 || statusCode === 404]).toEqual([where, true]);
      } else if (!url.startsWith('/api/') || peopleOnly.has(where)) {
        // Pages, sessions, passwords, second factors, accounts, tokens, and what takes data away.
        expect([where, statusCode]).toEqual([where, 403]);
        expect([where, headers['set-cookie']]).toEqual([where, undefined]);
      } else {
        const other = roles.find((each) => policies[each] === policy && each !== role);
        if (other) expect([where, statusCode]).toEqual([where, 403]);
        else {
          const send = agentOf[role][method.toLowerCase() as 'get'];
          expect([where, statusCode]).toEqual([where, (await send(addressOf(url))).status]);
          taken++;
        }
      }
    }
    expect(taken).toBeGreaterThan(10);
  },
);

test('a token that only reads changes nothing on any route, and reads what its role may', async () => {
  for (const { method, url, policy } of routes()) {
    const where = `${method} ${url}`;
    if (!url.startsWith('/api/') || policy === policies.open || peopleOnly.has(where)) continue;
    const answer = await by(reader, method, addressOf(url));
    if (method === 'GET') {
      const full = await by(tokenOf.coordinator, method, addressOf(url));
      expect([where, answer.statusCode]).toEqual([where, full.statusCode]);
    } else {
      expect([where, answer.statusCode]).toEqual([where, 403]);
      expect(answer.headers['www-authenticate']).toBe('Bearer realm="Crewmark", error="insufficient_scope"');
    }
  }
});

test('no token, a made-up, an expired and a revoked one: 401 with a challenge on every route that tokens open', async () => {
  const expired = await make({ name: 'expired', role: 'coordinator', days: 1 });
  await database.pool.query(`UPDATE api_token SET expires_at = now() - interval '1 second' WHERE id = $1`, [
    expired.id,
  ]);
  const revoked = await make({ name: 'revoked', role: 'coordinator' });
  await person.delete(`/api/tokens/${revoked.id}`).expect(204);
  await person.delete(`/api/tokens/${revoked.id}`).expect(204);
  const cookie = { cookie: (await person.get('/api/people')).request.getHeader('cookie') as string };
  for (const { method, url, policy } of routes()) {
    const where = `${method} ${url}`;
    if (!url.startsWith('/api/') || policy === policies.open || peopleOnly.has(where)) continue;
    for (const token of [expired.token, revoked.token, 'crewmark_made-up', 'x']) {
      // Not even beside a cookie that is good: the request said by what it wants to be judged.
      const answer = await by(token, method, addressOf(url), cookie);
      expect([where, answer.statusCode]).toEqual([where, 401]);
      expect(answer.headers['www-authenticate']).toBe('Bearer realm="Crewmark", error="invalid_token"');
      expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/);
    }
    const bare = await app.inject({ method: method as HTTPMethods, url: addressOf(url) });
    expect([where, bare.statusCode, bare.headers['www-authenticate']]).toEqual([
      where,
      401,
      'Bearer realm="Crewmark"',
    ]);
  }
});

test('a token in an address is refused with one sentence that does not repeat it, whether it works or not', async () => {
  const token = tokenOf.coordinator;
  const coded = token.replace('_', '%5F');
  for (const url of [
    ...[`/api/people?token=${token}`, `/api/people?x=1&access_token=abc`, `/api/people?key=${coded}`],
    ...[`/api/people/${token}`, `/people?find=${token}`, `/none/${token}`, `/health?t=${token}`],
    `/api/people?token=crewmark_${'A'.repeat(43)}`,
  ]) {
    for (const headers of [{}, { authorization: `Bearer ${token}` }]) {
      const answer = await app.inject({ url, headers });
      expect([url, answer.statusCode]).toEqual([url, 400]);
      expect(answer.body).not.toContain(token);
      if (!url.startsWith('/api/')) continue;
      const problem = answer.json();
      expect(problem.title).toBe('Bad Request');
      expect(problem.detail).toMatch(
        /^A token does not belong into an address, .+ Authorization: Bearer, and revoke this one/,
      );
    }
  }
});

test('made by the API: shown once, kept as a hash, ninety days, for a role one has', async () => {
  const made = await make({ name: 'nightly export', role: 'coordinator' });
  expect(made.token).toMatch(/^crewmark_[\w-]{43}$/);
  const days = (Date.parse(made.expiresAt) - Date.now()) / 86_400_000;
  expect(days).toBeGreaterThan(89.9);
  expect(days).toBeLessThan(90.1);
  const listed = (await person.get('/api/tokens').expect(200)).text;
  expect(listed).toContain('nightly export');
  expect(listed).not.toContain(made.token);
  const { rows } = await database.pool.query('SELECT * FROM api_token WHERE id = $1', [made.id]);
  expect(JSON.stringify(rows)).not.toContain(made.token.slice(9));
  for (const [body, field] of [
    [{ name: '', role: 'observer' }, 'body.name'],
    [{ name: 'export\nby night', role: 'observer' }, 'body.name'],
    [{ name: 'export\u2028by night', role: 'observer' }, 'body.name'],
    [{ name: 'x', role: 'observer', days: 366 }, 'body.days'],
    [{ name: 'x', role: 'observer', days: 0 }, 'body.days'],
    [{ name: 'x', role: 'referee' }, 'body.role'],
  ] as const) {
    const refused = await person.post('/api/tokens').send(body).expect(400);
    expect(JSON.parse(refused.text).errors[0].field).toBe(field);
  }
  const other = await agentOf.coordinator
    .post('/api/tokens')
    .send({ name: 'x', role: 'official' })
    .expect(400);
  expect(other.text).toContain('You are no official yourself');
});

test('the pages: make one, see it once, revoke it', async () => {
  const page = '/settings/keys';
  const send = (fields: object) => person.post(`${page}/tokens`).type('form').send(fields);
  const wrong = await send({ name: 'scoreboard', role: 'observer', days: '400' }).expect(400);
  expect(wrong.text).toContain('Write a number of days from 1 to 365.');
  expect(wrong.text).toContain('value="scoreboard"');
  const made = await send({ name: 'scoreboard', role: 'observer', readOnly: 'yes', days: '7' }).expect(200);
  const token = /value="(crewmark_[\w-]{43})"/.exec(made.text)![1]!;
  await by(token, 'GET', '/api/my/assignments').then(({ statusCode }) => expect(statusCode).toBe(200));
  const listed = (await person.get(page).expect(200)).text;
  expect(listed).not.toContain(token);
  const { rows } = await database.pool.query<{ id: string; used: Date }>(
    `SELECT id, last_used_at AS used FROM api_token WHERE name = 'scoreboard'`,
  );
  // To the hour: who reads the table learns no more of when.
  expect([rows[0]!.used.getMinutes(), rows[0]!.used.getSeconds()]).toEqual([0, 0]);
  await person.post(`${page}/tokens/${rows[0]!.id}/revoke`).expect(303);
  expect((await by(token, 'GET', '/api/my/assignments')).statusCode).toBe(401);
  const stranger = await inSessionOf(
    app,
    await makePerson(database.pool, await makeConference(database.pool), ['coordinator']),
  );
  await stranger.post(`${page}/tokens/${rows[0]!.id}/revoke`).expect(404);
});

test('the trail names the token, also under its hash; what the person does by themselves does not', async () => {
  const { id } = await make({ name: 'week planner', role: 'coordinator' }).then(async (made) => {
    const answer = await app.inject({
      method: 'PUT',
      url: '/api/reply-window',
      headers: { authorization: `Bearer ${made.token}` },
      payload: { replyDays: 12 },
    });
    expect(answer.statusCode).toBe(200);
    return made;
  });
  await person.put('/api/reply-window').send({ replyDays: 13 }).expect(200);
  const { rows } = await database.pool.query(
    `SELECT actor_id, token FROM audit_entry WHERE conference_id = $1 ORDER BY number DESC LIMIT 2`,
    [conferenceId],
  );
  expect(rows).toEqual([
    { actor_id: maker.personId, token: null },
    { actor_id: maker.personId, token: { id, name: 'week planner' } },
  ]);
  expect((await person.get('/trail').expect(200)).text).toContain('Test Person (token week planner)');
  const faults = async () =>
    inTransaction(database.pool, async (client) => (await verifyAudit(client, conferenceId)).faults);
  expect(await faults()).toEqual([]);
  const owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
  await owner.query('ALTER TABLE audit_entry DISABLE TRIGGER USER');
  const rename = (name: string) =>
    owner.query(`UPDATE audit_entry SET token = $1 WHERE token IS NOT NULL`, [{ id, name }]);
  await rename('another');
  expect(await faults()).toEqual([expect.stringMatching(/was changed$/)]);
  await rename('week planner');
  expect(await faults()).toEqual([]);
  await owner.end();
});

test('a token ends with its maker: shut out, without the role, or without the second factor that is needed', async () => {
  const second = await makePerson(database.pool, conferenceId, ['coordinator', 'observer']);
  const theirs = await inSessionOf(app, second);
  const made = async (role: Role) =>
    (await theirs.post('/api/tokens').send({ name: 'x', role }).expect(201)).body.token as string;
  const [asCoordinator, asObserver] = [await made('coordinator'), await made('observer')];
  const status = async (token: string, url: string) => (await by(token, 'GET', url)).statusCode;
  expect(await status(asObserver, '/api/people')).toBe(403);
  await database.pool.query('UPDATE conference SET second_factor_needed = true WHERE id = $1', [
    conferenceId,
  ]);
  expect(await status(asCoordinator, '/api/people')).toBe(403);
  await database.pool.query('UPDATE conference SET second_factor_needed = false WHERE id = $1', [
    conferenceId,
  ]);
  expect(await status(asCoordinator, '/api/people')).toBe(200);
  await person
    .patch(`/api/people/${second.personId}`)
    .send({ roles: ['observer'] })
    .expect(200);
  expect(await status(asCoordinator, '/api/people')).toBe(401);
  expect(await status(asObserver, '/api/my/assignments')).toBe(200);
  // Given the role again, they have to make a new one.
  await person
    .patch(`/api/people/${second.personId}`)
    .send({ roles: ['coordinator', 'observer'] })
    .expect(200);
  expect(await status(asCoordinator, '/api/people')).toBe(401);
  const tokens = (await person.get('/api/tokens').expect(200)).body;
  expect(
    tokens
      .filter(({ name }: { name: string }) => name === 'x')
      .map(({ state }: { state: string }) => state)
      .sort(),
  ).toEqual(['revoked', 'works']);
  await person.patch(`/api/people/${second.personId}`).send({ active: false }).expect(200);
  await person.patch(`/api/people/${second.personId}`).send({ active: true }).expect(200);
  expect(await status(asObserver, '/api/my/assignments')).toBe(401);
});

test('a token gives nobody a role by a file of staff; it may ask what the file would do, and import other files', async () => {
  const roles = async () =>
    (
      await database.pool.query(
        'SELECT person_id, role FROM person_role WHERE conference_id = $1 ORDER BY person_id, role',
        [conferenceId],
      )
    ).rows;
  const before = await roles();
  const send = (kind: string, lines: string[], check = '') =>
    app.inject({
      method: 'POST',
      url: `/api/imports/${kind}${check}`,
      headers: { authorization: `Bearer ${tokenOf.coordinator}`, 'content-type': 'text/csv' },
      payload: lines.join('\n'),
    });
  const staff = ['email,given name,family name,roles', 'mallory@example.test,Mallory,Test,coordinator'];
  const refused = await send('staff', staff);
  expect([refused.statusCode, refused.json().detail]).toEqual([
    403,
    expect.stringContaining('gives and takes roles, which no token may do'),
  ]);
  const told = await send('staff', staff, '?check=true');
  expect([told.statusCode, told.json().added, told.json().applied]).toEqual([200, 1, false]);
  expect(await roles()).toEqual(before);
  const venues = await send('venues', ['name,latitude,longitude,time zone', 'Field,41,-93,America/Chicago']);
  expect([venues.statusCode, venues.json().applied]).toEqual([200, true]);
  const itself = await person.post('/api/imports/staff').type('text/csv').send(staff.join('\n'));
  expect([itself.status, (await roles()).length]).toEqual([200, before.length + 1]);
});

test('the description names both ways in, and for each route which are taken', async () => {
  const { body } = await supertest(app.server).get('/api/openapi.json');
  expect(body.components.securitySchemes.token).toMatchObject({ type: 'http', scheme: 'bearer' });
  expect(body.components.securitySchemes.session).toMatchObject({ type: 'apiKey', in: 'cookie' });
  expect(body.components.responses.NotSignedIn.headers).toHaveProperty('WWW-Authenticate');
  let described = 0;
  for (const { method, url, policy } of routes()) {
    const operation = body.paths[url.replaceAll(/:(\w+)/g, '{$1}')]?.[method.toLowerCase()];
    if (!operation) continue;
    described++;
    const where = `${method} ${url}`;
    const ways = operation.security.flatMap((way: object) => Object.keys(way));
    const expected =
      policy === policies.open ? [] : peopleOnly.has(where) ? ['session'] : ['session', 'token'];
    expect([where, ways]).toEqual([where, expected]);
    if (expected.length > 0)
      expect(operation.responses['401']).toEqual({ $ref: '#/components/responses/NotSignedIn' });
  }
  expect(described).toBeGreaterThan(60);
});
