// @module-tag long
import type { FastifyInstance, HTTPMethods } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { policies } from '../../server/accounts/policy.ts';
import { type Role, roles } from '../../server/accounts/roles.ts';
import { makeConference } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// Every route of the application as it is composed, whoever wrote it: nothing to remember when one is added.

let database: TestDatabase;
let app: FastifyInstance;
let agents: Record<Role, SignedInAgent>;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  const conferenceId = await makeConference(database.pool);
  agents = Object.fromEntries(
    await Promise.all(
      roles.map(async (role) => [role, (await personSignedIn(app, conferenceId, [role])).agent]),
    ),
  );
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

/** All but /metrics, which has a policy of its own (tests/web/metrics.api.test.ts). */
const routes = () =>
  app.routesWithPolicies.filter(({ method, url }) => method !== 'HEAD' && url !== '/metrics');
const allRoutes = () => app.routesWithPolicies.filter(({ method }) => method !== 'HEAD');
/** An address of the route, with ids that are nobody's. */
const addressOf = (url: string) =>
  url.replaceAll(/:\w+(\([^)]*\))?/g, '00000000-0000-4000-8000-000000000000').replace('*', 'none');

/** What Fastify itself knows of its routes, read from its printed tree. */
function routesOfFastify(): string[] {
  const found: string[] = [];
  const above: string[] = [];
  for (const line of app.printRoutes({ commonPrefix: false }).split('\n')) {
    const match = /^([│ ]*)[├└]── (.*?)(?: \(([A-Z, ]+)\))?$/.exec(line);
    if (!match) continue;
    const depth = match[1]!.length / 4;
    above.length = depth;
    above.push(match[2]!);
    for (const method of match[3]?.split(', ') ?? []) found.push(`${method} ${above.join('')}`);
  }
  return found;
}

test('every route that Fastify knows has a policy', () => {
  const known = routesOfFastify();
  expect(known.length).toBeGreaterThan(20);
  const withPolicy = allRoutes().map(({ method, url }) => `${method} ${url}`);
  // The printed tree shortens what stands before a wildcard.
  const has = (route: string) =>
    route.endsWith('*')
      ? withPolicy.some((each) => each.endsWith('*') && each.startsWith(route.slice(0, -1)))
      : withPolicy.includes(route);
  const without = known.filter((route) => !route.startsWith('HEAD ') && !has(route));
  expect(without).toEqual([]);
});

test('the routes open to everyone are these', () => {
  const open = routes()
    .filter(({ policy }) => policy === policies.open)
    .map(({ method, url }) => `${method} ${url}`)
    .filter((route) => !/^GET \/(assets|api\/docs)\b/.test(route));
  expect(open.sort()).toMatchSnapshot();
});

test('signed out, each other route says 401, or leads to the sign-in page', async () => {
  const closed = routes().filter(({ policy }) => policy !== policies.open);
  expect(closed.length).toBeGreaterThan(10);
  for (const { method, url } of closed) {
    const answer = await app.inject({ method: method as HTTPMethods, url: addressOf(url) });
    const where = `${method} ${url}`;
    if (url.startsWith('/api/')) {
      expect([where, answer.statusCode]).toEqual([where, 401]);
      expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/);
    } else {
      expect([where, answer.statusCode]).toEqual([where, 303]);
      expect(answer.headers.location).toMatch(/^\/sign-in/);
    }
  }
});

test.each(roles)('signed in as %s, a route of another role is refused', async (role) => {
  for (const { method, url, policy } of routes()) {
    const other = roles.find((each) => policies[each] === policy);
    if (other === undefined || other === role) continue;
    const send = agents[role][method.toLowerCase() as 'get'];
    const where = `${method} ${url}`;
    expect([where, (await send(addressOf(url))).status]).toEqual([where, 403]);
  }
});

test('a team’s contact gets into nothing but inquiries, their account, their messages and their own data', async () => {
  const letIn: string[] = [];
  for (const { method, url, policy } of routes()) {
    if (policy === policies.open) continue;
    const send = agents['team contact'][method.toLowerCase() as 'get'];
    // The session itself is ended last.
    if (method === 'DELETE' && url === '/api/session') continue;
    if (![403, 404].includes((await send(addressOf(url))).status)) letIn.push(`${method} ${url}`);
  }
  expect(letIn.sort()).toMatchSnapshot();
});

test.each(roles)(
  'signed in as %s, a thing that does not exist or is another’s is never shown',
  async (role) => {
    for (const { method, url, policy } of routes()) {
      if (!url.includes(':') || policy === policies.open) continue;
      const send = agents[role][method.toLowerCase() as 'get'];
      const where = `${method} ${url}`;
      const { status } = await send(addressOf(url));
      expect([where, status >= 400 && status < 500]).toEqual([where, true]);
    }
  },
);

test('without the token of the session, no route changes anything', async () => {
  const cookie = (await agents.coordinator.get('/api/session')).request.getHeader('cookie') as string;
  for (const { method, url } of routes()) {
    if (method === 'GET') continue;
    const answer = await app.inject({
      method: method as HTTPMethods,
      url: addressOf(url),
      headers: { cookie },
    });
    const where = `${method} ${url}`;
    expect([where, [403, 404, 415].includes(answer.statusCode)]).toEqual([where, true]);
  }
});

test('from another site, no route changes anything, signed in or not', async () => {
  for (const { method, url } of routes()) {
    if (method === 'GET') continue;
    const answer = await app.inject({
      method: method as HTTPMethods,
      url: addressOf(url),
      headers: { origin: 'https://elsewhere.test' },
    });
    const where = `${method} ${url}`;
    expect([where, [303, 401, 403].includes(answer.statusCode)]).toEqual([where, true]);
  }
});

test('every page and answer carries a strict content security policy', async () => {
  for (const url of ['/sign-in', '/api/session', '/none-such']) {
    const { headers } = await app.inject(url);
    expect(headers['content-security-policy']).toMatch(
      /default-src 'none';script-src 'self';style-src 'self'/,
    );
    expect(headers['content-security-policy']).not.toContain('unsafe');
    expect(headers['x-content-type-options']).toBe('nosniff');
  }
});
