// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { testApp } from '../support/test-app.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let context: BrowserContext;
let page: Page;
beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});
beforeEach(async () => {
  await context?.close();
  context = await browser.newContext({ viewport: { width: 820, height: 900 } });
  page = await context.newPage();
});

const as = async (personId: string) =>
  signIn(
    context,
    address,
    await startSession(database.pool, { conferenceId: database.conferenceId, personId }),
  );
const coordinator = async () => {
  const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM person WHERE email = $1', [
    database.signIns.coordinator,
  ]);
  return rows[0]!.id;
};
const accessible = async () => expect(await accessibilityProblems(page)).toEqual([]);
const sideways = () => page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);

test('a coordinator goes from a repeat miss to its plays, opens a point, notes a talk, and closes it', async () => {
  const [first] = (await app.results.patternsOf(database.conferenceId, database.seasonId)).patterns;
  await as(await coordinator());
  await page.goto(`${address}/patterns`);
  await accessible();
  expect(await sideways()).toBe(0);
  const row = page.locator('table.patterns tbody tr').first();
  expect(await row.textContent()).toContain(`${first!.misses} of ${first!.opportunities}`);
  expect(await row.locator('svg').getAttribute('aria-label')).toMatch(
    /^Misses by week: week \d+: \d+ of \d+/,
  );
  await row.getByRole('link', { name: 'The plays' }).click();
  await accessible();
  expect(await page.locator('tbody tr').count()).toBe(first!.misses);

  await page.getByLabel('What to work on').fill('Arm up, every play');
  await page.getByRole('button', { name: 'Open a development point' }).click();
  await page.waitForURL('**/development-points/**');
  await accessible();
  expect(await page.textContent('main')).toContain('once a conversation or letter is noted');
  await page.locator('#field-happenedOn').fill('2026-09-20');
  await page.getByLabel('What was said').fill('Talked after the game');
  await page.getByLabel('The official may read this text').check();
  await page.getByRole('button', { name: 'Note it' }).click();
  await page.getByText('Talked after the game').waitFor();
  expect(await page.locator('.before-after tbody tr').count()).toBe(2);
  await page.locator('#turn-on').fill('2027-06-01');
  await page.getByRole('button', { name: 'Close this point' }).click();
  await page.getByRole('button', { name: 'Open it again' }).waitFor();
  await accessible();
  await page.getByRole('link', { name: 'Development points' }).first().click();
  await accessible();
  expect(await page.textContent('main')).toContain('No development point is open');

  await context.close();
  context = await browser.newContext({ viewport: { width: 820, height: 900 } });
  page = await context.newPage();
  await as(first!.official);
  await page.goto(`${address}/my/patterns`);
  await accessible();
  expect(await page.textContent('main')).toContain('Talked after the game');
  expect(await page.textContent('main')).not.toContain('Arm up, every play');
  await page.getByRole('link', { name: 'See the plays' }).first().click();
  await accessible();
});

test('crews, training topics and strengths are readable by everyone', async () => {
  await as(await coordinator());
  for (const part of ['crews', 'training-topics', 'strengths']) {
    await page.goto(`${address}/seasons/${database.seasonId}/patterns/${part}`);
    await accessible();
    expect(await sideways()).toBe(0);
  }
});
