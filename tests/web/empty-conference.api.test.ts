// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { navigation } from '../../server/navigation.ts';
import { brokenFigure } from '../support/broken-figure.ts';
import { makeConference } from '../support/people.ts';
import { personSignedIn } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// A conference on its first day, with people and nothing else: every page of the menu and beyond opens and says so.

let database: TestDatabase;
let app: FastifyInstance;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

test.each(['coordinator', 'observer', 'official'] as const)(
  'a %s of a conference without a season finds no broken page',
  async (role) => {
    const { agent } = await personSignedIn(app, await makeConference(database.pool), [role]);
    const addresses = app.routesWithPolicies
      .filter(({ method, url }) => method === 'GET' && !/[:*]|^\/(api|assets|health|ready|favicon)/.test(url))
      .map(({ url }) => url);
    expect(addresses.length).toBeGreaterThan(20);
    for (const address of new Set(addresses)) {
      const answer = await agent.get(address).redirects(3);
      // 400: it needs a question in its address.
      expect([200, 400, 403, 404], `${address} answers ${answer.status}`).toContain(answer.status);
      const text = answer.text.replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ');
      expect(brokenFigure(text), address).toBeUndefined();
    }
    for (const { href } of navigation.filter((item) => item.roles.includes(role))) {
      expect((await agent.get(href).redirects(3)).status, href).toBe(200);
    }
  },
);
