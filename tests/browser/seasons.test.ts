// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let seasons: TwoSeasons;
let context: BrowserContext;
let page: Page;

beforeAll(async () => {
  database = await testDatabase();
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
  seasons = await twoSeasons(database.pool);
});
afterEach(() => context?.close());

/** A browser of one person; pages work without script, so here they have none unless asked for. */
async function as(personId: string, javaScriptEnabled = false): Promise<void> {
  context = await browser.newContext({ viewport: { width: 1280, height: 900 }, javaScriptEnabled });
  page = await context.newPage();
  const { conferenceId } = seasons;
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
}

/** Fits each width, and is kept as a picture to be looked at where `PICTURES` names a folder. */
async function fits(name: string, widths: readonly number[] = [1280, 820, 390]): Promise<void> {
  for (const width of widths) {
    await page.setViewportSize({ width, height: 900 });
    const wider = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    expect(wider, `${name}, beyond the window at ${width} px`).toBeLessThanOrEqual(0);
    const folder = process.env.PICTURES;
    if (folder) await page.screenshot({ path: `${folder}/${name}-${width}.png`, fullPage: true });
  }
  await page.setViewportSize({ width: 1280, height: 900 });
}

const inView = () => page.locator('.season-switch summary').textContent();

test('each role changes the season in view from any page, without script, also on a telephone', async () => {
  for (const [personId, path, word] of [
    [seasons.coordinatorId, '/reports', 'Silver'],
    [seasons.observerId, '/my/games', 'Silver'],
    [seasons.officialId, '/my/marks', 'Silver'],
  ] as const) {
    await as(personId);
    await page.setViewportSize({ width: 390, height: 844 });
    await page.goto(address + path);
    expect(await inView()).toContain('2030');
    await page.locator('.season-switch summary').click();
    if (process.env.PICTURES)
      await page.screenshot({ path: `${process.env.PICTURES}/switch${path.replaceAll('/', '-')}-390.png` });
    await page.getByRole('button', { name: '2031 running' }).click();
    expect(new URL(page.url()).pathname).toBe(path);
    expect(await inView()).toContain('2031');
    expect(await page.locator('main').textContent()).toContain(word);
    await fits(`page${path.replaceAll('/', '-')}`);
    await page.getByRole('button', { name: 'Go to 2030, the current season' }).click();
    expect(await inView()).toContain('2030');
    await context.close();
  }
});

test('a link into an older season says that it changed the season in view, and one click leads back', async () => {
  const { first, second, coordinatorId } = seasons;
  await as(coordinatorId);
  await page.goto(`${address}/reports`);
  await page.locator('.season-switch summary').click();
  await page.getByRole('button', { name: '2031 running' }).click();
  // As a link in an e-mail would.
  await page.goto(`${address}/reports/${first.reportId}`);
  expect(await inView()).toContain('2030');
  expect(await page.locator('.season-note').textContent()).toContain(
    'This page belongs to season 2030, so that season is in view now and no longer 2031.',
  );
  await fits('led-to-another-season');
  await page.getByRole('button', { name: 'Back to 2031' }).click();
  expect(new URL(page.url()).pathname).toBe('/reports');
  expect(await inView()).toContain('2031');
  expect(await page.locator('main').textContent()).toContain('Silver');
  await page.goto(`${address}/seasons/${second.id}`);
  expect(await page.locator('.season-note').textContent()).not.toContain('This page belongs');
});

test('the switcher and the pages of seasons are accessible', async () => {
  await as(seasons.coordinatorId, true);
  for (const path of ['/seasons', '/seasons/new', `/seasons/${seasons.second.id}/next`]) {
    await page.goto(address + path);
    await page.locator('.season-switch summary').click();
    expect(await accessibilityProblems(page), path).toEqual([]);
  }
});

test('a season is rolled over by keys, its first report begun, the old one closed and read by all', async () => {
  const { coordinatorId, observerId, officialId, second } = seasons;
  await as(coordinatorId);
  await page.goto(`${address}/seasons`);
  await fits('seasons');
  await page.goto(`${address}/seasons/new`);
  await fits('open-season');
  await page.goto(`${address}/seasons/${second.id}/weeks`);
  await fits('weeks');

  await page.goto(`${address}/seasons/${second.id}/next`);
  await page.getByLabel('First day of the first week').fill('2032-08-30');
  await page.getByLabel('Weeks', { exact: true }).fill('12');
  // By keys alone: the crew's umpire is chosen by the first letters of the name.
  await page.locator('select[name="crew-0-umpire"]').focus();
  await page.keyboard.type('umpire');
  expect(await page.locator('select[name="crew-0-umpire"] option:checked').textContent()).toBe(
    'umpire, Test',
  );
  await fits('next-season');
  await page.getByLabel(/Go on to closing 2031/).check();
  await page.getByRole('button', { name: 'Open the new season' }).click();

  // What is left in the old one is told before it is closed.
  expect(await page.locator('main').textContent()).toContain('1 report with an observer');
  await fits('close-season');
  await page.getByRole('button', { name: 'Close 2031' }).click();
  await fits('seasons-closed');
  await page.getByRole('button', { name: /Make current.*2032/ }).click();
  await page.goto(`${address}/seasons/${second.id}/standings`);
  expect(await page.locator('.season-note').textContent()).toContain('Season 2031 is closed');
  await fits('closed-standings');
  await context.close();

  // A first game of the new season: its observer begins the report.
  const { rows } = await database.pool.query(
    `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
     SELECT g.conference_id, n.id, 'first', 1, '2032-09-04T18:00:00Z', g.home_team_id, g.visiting_team_id, g.venue_id
       FROM game g JOIN season n ON n.conference_id = g.conference_id AND n.name = '2032'
      WHERE g.id = $1 RETURNING id`,
    [second.gameId],
  );
  await database.pool.query(
    `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer)
     VALUES ($1, $2, $3, 'film', 'accepted')`,
    [seasons.conferenceId, rows[0].id, observerId],
  );
  await as(observerId);
  await page.goto(`${address}/my/games`);
  expect(await inView()).toContain('2032');
  await page.getByRole('button', { name: /^Begin/ }).click();
  await page.goto(`${address}/my/games`);
  expect(await page.locator('main').textContent()).toContain('Continue');
  await page.getByRole('button', { name: /^2031:/ }).click();
  expect(await page.locator('main').textContent()).toContain('Silver');
  await context.close();

  // The official answers when they are away, and still reads last season's marks.
  await as(officialId);
  await page.goto(`${address}/my/seasons`);
  await page.getByLabel(/Week 2,/).check();
  await page.getByRole('button', { name: 'Keep my answer' }).click();
  expect(await page.locator('main').textContent()).toContain('You answered on');
  await fits('my-seasons');
  await page.goto(`${address}/my/marks`);
  await page.getByRole('button', { name: '2031: 1 mark' }).click();
  expect(await page.locator('main').textContent()).toContain('Silver comment');
});
