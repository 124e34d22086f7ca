// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { testApp } from '../support/test-app.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import { allSent, enterGame, planGame, pressFile } from './support/entry-driver.ts';

// From the demo season into the next year, by pages alone: the coordinator at a desk (1280), the observer on a tablet (820),
// the official on a telephone (390). Each test goes on where the last one ended.

let database: DemoDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let coordinator: Page;
let observer: Page;
let official: Page;
let observerName: string;
/** The season book as it was when the season was closed. */
let book: Buffer;

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  coordinator = await pageOf(database.signIns.coordinator, 1280);
  observer = await pageOf(database.signIns.observer, 820);
  official = await pageOf(database.signIns.official, 390);
  const [person] = await rowsOf(
    `SELECT given_name || ' ' || family_name AS name FROM person WHERE email = $1`,
    database.signIns.observer,
  );
  observerName = person.name;
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

const rowsOf = async (sql: string, ...values: unknown[]) => (await database.pool.query(sql, values)).rows;

async function pageOf(email: string, width: number): Promise<Page> {
  const [{ id: personId }] = await rowsOf('SELECT id FROM person WHERE email = $1', email);
  const context = await browser.newContext({ viewport: { width, height: 900 }, bypassCSP: true });
  const { conferenceId } = database;
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
  context.setDefaultTimeout(60_000);
  return context.newPage();
}

const said = async (page: Page) => (await page.locator('main').textContent())!.replaceAll(/\s+/g, ' ');
const season = async (name: string) =>
  (
    await rowsOf('SELECT id FROM season WHERE conference_id = $1 AND name = $2', database.conferenceId, name)
  )[0]?.id;

async function look(page: Page, name: string): Promise<void> {
  const wider = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  expect([name, wider <= 0]).toEqual([name, true]);
  const folder = process.env.PICTURES;
  if (folder) await page.screenshot({ path: `${folder}/next-year-${name}.png`, fullPage: true });
}

async function bookOf2026(): Promise<Buffer> {
  const answer = await coordinator.request.get(`${address}/api/seasons/${database.seasonId}/season-book.pdf`);
  expect(answer.headers()['content-type']).toContain('application/pdf');
  return answer.body();
}

test('the next season is opened with its crews re-formed, and who was new is in one', async () => {
  await coordinator.goto(`${address}/seasons`);
  await coordinator.getByRole('link', { name: 'Open the next season from the last' }).click();
  // A year (52 weeks) after the demo's own, which its games tell: nobody gave its weeks their days.
  expect(await coordinator.getByLabel('Name').first().inputValue()).toBe('2027');
  const [first] = await rowsOf(
    `SELECT (date_trunc('week', min(kickoff) AT TIME ZONE 'America/Chicago')::date + 364)::text AS day,
            max(week)::text AS weeks FROM game WHERE season_id = $1`,
    database.seasonId,
  );
  expect(await coordinator.getByLabel('First day of the first week').inputValue()).toBe(first.day);
  expect(await coordinator.getByLabel('Weeks', { exact: true }).inputValue()).toBe(first.weeks);

  const seat = coordinator.locator('.seat[data-seat="crew-0-umpire"] .handle');
  const leaving = (await seat.locator('.sitting').textContent())!;
  await coordinator.getByLabel(`${leaving} leaves`).check();
  expect(await coordinator.locator('.empty-seats').textContent()).toBe('1 seat is still empty.');
  const waiting = coordinator.locator('.no-crew li .handle', { hasText: 'new' }).first();
  const comes = (await waiting.locator('.sitting').textContent())!.replace(' new', '');
  await waiting.dragTo(seat);
  expect(await seat.textContent()).toContain(comes);
  await look(coordinator, 'board-1280');
  await coordinator.setViewportSize({ width: 820, height: 900 });
  await look(coordinator, 'board-820');
  await coordinator.setViewportSize({ width: 1280, height: 900 });
  await coordinator.getByLabel(/Go on to closing 2026/).check();
  await coordinator.getByRole('button', { name: 'Open the new season' }).click();

  await coordinator.waitForURL(/\/close$/);
  const [umpire] = await rowsOf(
    `SELECT p.family_name || ', ' || p.given_name AS name FROM crew c
       JOIN crew_member m ON m.conference_id = c.conference_id AND m.crew_id = c.id AND m.position = 'umpire'
       JOIN person p ON p.conference_id = m.conference_id AND p.id = m.person_id
      WHERE c.season_id = $1 ORDER BY c.name LIMIT 1`,
    await season('2027'),
  );
  expect(umpire.name).toBe(comes);

  // A year later nobody is new who was in a crew or watched a game in any season.
  await coordinator.goto(`${address}/seasons/${await season('2027')}/next`);
  const shown = await coordinator.locator('.staff li', { has: coordinator.locator('.tag') }).count();
  const [served] = await rowsOf(
    `SELECT count(DISTINCT r.person_id)::int AS never FROM person_role r JOIN person p ON p.id = r.person_id AND p.active
      WHERE r.conference_id = $1 AND r.role IN ('official', 'observer') AND r.person_id NOT IN (
        SELECT person_id FROM crew_member UNION SELECT person_id FROM working_crew_member
         UNION SELECT observer_id FROM observer_assignment)`,
    database.conferenceId,
  );
  expect(shown).toBe(served.never);
});

test('opened a second time, it is refused in one sentence', async () => {
  await coordinator.goto(`${address}/seasons/${database.seasonId}/next`);
  expect(await said(coordinator)).toContain(
    'Season 2027 was opened from 2026 already. Go on with it, or undo its opening to begin again.',
  );
  expect(await coordinator.locator('form.next-season').count()).toBe(0);
});

test('the old season is closed with its book, which stays as it is', async () => {
  await coordinator.goto(`${address}/seasons/${database.seasonId}/close`);
  await coordinator.getByRole('button', { name: 'Close 2026' }).click();
  await coordinator.waitForURL(`${address}/seasons`);
  await look(coordinator, 'seasons-1280');
  book = await bookOf2026();
  expect(book.subarray(0, 5).toString()).toBe('%PDF-');
  const row = coordinator.locator('tr', { hasText: '2027' });
  await row.getByRole('button', { name: /Make current/ }).click();
  await coordinator.goto(`${address}/desk`);
  // What was left in a closed season waits for nobody any more.
  expect(await said(coordinator)).not.toContain('things to review');
});

test('people are asked when they are away, and an official answers on a telephone', async () => {
  await official.goto(`${address}/`);
  await official.goto(`${address}/my/seasons`);
  await official.getByLabel(/Week 3,/).check();
  await look(official, 'availability-390');
  await official.getByRole('button', { name: 'Keep my answer' }).click();
  await coordinator.goto(`${address}/seasons/${await season('2027')}/availability`);
  expect(await said(coordinator)).toMatch(/\d+ of \d+ have not answered yet/);
});

test('the first game is entered, offered, watched on a tablet and released', async () => {
  await coordinator.goto(`${address}/games/add`);
  await coordinator.fill('[name=week]', '1');
  await coordinator.selectOption('[name=homeTeamId]', { index: 1 });
  await coordinator.selectOption('[name=visitingTeamId]', { index: 2 });
  await coordinator.fill('[name=kickoff]', '2027-09-04T18:00');
  await coordinator.selectOption('[name=crewId]', { index: 1 });
  await coordinator.locator('main form button[type=submit]').first().click();
  await coordinator.goto(`${address}/observers/weeks/1`);
  await coordinator
    .getByRole('link', { name: /^(Choose an observer for|Note who watched)/ })
    .first()
    .click();
  await coordinator.locator('details.breaking').evaluateAll((all) => {
    for (const details of all) (details as HTMLDetailsElement).open = true;
  });
  const choice = coordinator.locator('label', { hasText: observerName }).filter({ hasText: 'film' });
  await choice.locator('input').first().check();
  await coordinator
    .getByLabel(/^Reason/)
    .first()
    .fill('Asked by telephone.');
  await look(coordinator, 'offer-1280');
  await coordinator.getByRole('button', { name: /^(Offer the game|Ask for the film)$/ }).click();
  await coordinator.locator('.who-watches', { hasText: observerName }).first().waitFor();

  await observer.goto(`${address}/my/assignments`);
  await observer.getByRole('button', { name: /^Accept / }).click();
  await observer.goto(`${address}/my/games`);
  await look(observer, 'my-games-820');
  // Two reports of 2026 were never filed; in a closed season nobody is asked for them.
  expect(await said(observer)).toMatch(/2026: \d+ games(?!, \d+ to report on)/);
  await observer.getByRole('button', { name: /^Begin/ }).click();
  await observer.waitForSelector('#report-entry[data-ready]');
  await observer.click('.entry-actions button:has-text("Crew")');
  await observer.click('dialog button:has-text("Confirm this crew")');
  await enterGame(() => observer, planGame(8, 3, 2027), 'pointer');
  await look(observer, 'entry-820');
  await allSent(observer);
  await observer.click('.entry-actions button:has-text("Check and file")');
  await pressFile(observer);
  await observer.waitForSelector('.entry-name .tag:text-is("filed")');

  await coordinator.goto(`${address}/reports`);
  await coordinator.locator('tr', { hasText: observerName }).getByRole('link').first().click();
  await coordinator.getByRole('button', { name: 'Accept' }).click();
  await coordinator.getByRole('button', { name: /^Release to the officials/ }).click();
  await coordinator.locator('.tag', { hasText: 'released' }).first().waitFor();
  await coordinator.goto(`${address}/standings`);
  expect(await coordinator.locator('.season-switch summary').textContent()).toContain('2027');
});

test('both seasons are told over the years, and the closed one is as it was', async () => {
  await coordinator.goto(`${address}/over-seasons`);
  await look(coordinator, 'duties-over-seasons-1280');
  expect(await said(coordinator)).toContain('2026');
  expect(await said(coordinator)).toContain('2027');
  await coordinator
    .getByRole('link', { name: /everity|bservers/ })
    .last()
    .click();
  await look(coordinator, 'severity-over-seasons-1280');
  await coordinator.setViewportSize({ width: 820, height: 900 });
  await look(coordinator, 'severity-over-seasons-820');
  await coordinator.setViewportSize({ width: 1280, height: 900 });
  expect(await said(coordinator)).toContain('2026');
  await official.goto(`${address}/my/evaluation`);
  await official
    .getByRole('link', { name: /seasons/i })
    .first()
    .click();
  await look(official, 'own-over-seasons-390');
  expect(await said(official)).toMatch(/2026[\s\S]*interval|interval[\s\S]*2026/);
  expect((await bookOf2026()).equals(book)).toBe(true);
});
