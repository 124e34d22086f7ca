// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import { allSent } from './support/entry-driver.ts';

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let game: OneGame;
let reportId: string;
const devices: BrowserContext[] = [];

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
  game = await oneGame(database.pool, 20);
  const acting = { conferenceId: game.conferenceId, personId: game.observerId };
  reportId = await openReport(database.pool, acting, game);
  return async () => {
    for (const device of devices.splice(0)) await device.close();
  };
});

async function openOnDevice(width = 1280): Promise<{ device: BrowserContext; page: Page }> {
  const device = await browser.newContext({ viewport: { width, height: 900 } });
  devices.push(device);
  const who = { conferenceId: game.conferenceId, personId: game.observerId };
  await signIn(device, address, await startSession(database.pool, who));
  const page = await device.newPage();
  await page.goto(`${address}/reports/${reportId}/entry`);
  await page.waitForSelector('.entry-plays li');
  return { device, page };
}

async function mark(page: Page, letter: string, comment: string): Promise<void> {
  await page.click('.entry-plays li:nth-child(2) button');
  await page.click(`.officials button:has(.letter:text-is("${letter}"))`);
  await page.click('.duties .duty:has-text("Everybody watches players")');
  await page.click('.findings button >> nth=0');
  await page.fill('.mark-comment textarea', comment);
  await page.locator('.mark-comment textarea').blur();
}

/** All but what is set aside, which the bar leads to. */
const allElseSent = (page: Page) =>
  page.waitForSelector(
    '.entry-sending.waiting:has-text("All else sent") a:has-text("1 change for you to mend")',
  );

const comments = async () =>
  (
    await database.pool.query<{ comment: string }>(
      'SELECT comment FROM observation WHERE conference_id = $1 AND removed_at IS NULL ORDER BY comment',
      [game.conferenceId],
    )
  ).rows.map((row) => row.comment);

describe('a change that the server will never take', () => {
  test('is set aside while the others are sent, survives a reload, and is mended in place', async () => {
    const { device, page } = await openOnDevice();
    await device.setOffline(true);
    await mark(page, 'U', 'Sent before.');
    await mark(page, 'L', 'Odd \u0000 and \u0007 here.');
    await mark(page, 'R', 'Sent after.');
    await page.waitForSelector('.entry-sending.waiting:has-text("not yet sent")');
    await device.setOffline(false);
    await allElseSent(page);
    const aside = page.locator('.entry-conflicts li');
    await aside.first().waitFor();
    expect(await aside.count()).toBe(1);
    expect(await aside.textContent()).toContain('Kept here, not taken by the server');
    expect(await aside.textContent()).toContain('Comment has a character that cannot be kept (number 5)');
    expect(await comments()).toEqual(expect.arrayContaining(['Sent after.', 'Sent before.']));

    await page.reload();
    await page.waitForSelector('.entry-plays li');
    await aside.first().waitFor();
    expect(await aside.count()).toBe(1);
    // What can be kept is there already; the observer may go on from it.
    const mend = page.getByLabel('Mend the comment');
    expect(await mend.inputValue()).toBe('Odd  and  here.');
    await mend.fill('Odd and here.');
    await mark(page, 'S', 'Sent meanwhile.');
    await allElseSent(page);
    expect(await mend.inputValue()).toBe('Odd and here.');
    await page.click('.entry-conflicts button:has-text("Send it as mended")');
    await page.locator('.entry-conflicts').waitFor({ state: 'detached' });
    await allSent(page);
    await expect
      .poll(comments)
      .toEqual(expect.arrayContaining(['Odd and here.', 'Sent after.', 'Sent before.', 'Sent meanwhile.']));
    await page.reload();
    await page.waitForSelector('.entry-plays li');
    expect(await page.locator('.entry-conflicts').count()).toBe(0);
  });

  test('can be dropped, on a telephone too', async () => {
    const { page } = await openOnDevice(390);
    await mark(page, 'L', 'Odd \u0000.');
    await page.locator('.entry-conflicts li').first().waitFor();
    const { scroll, width } = await page.evaluate(() => ({
      scroll: document.documentElement.scrollWidth,
      width: innerWidth,
    }));
    expect(scroll).toBeLessThanOrEqual(width);
    await page.click('.entry-conflicts button:has-text("Drop it")');
    await page.locator('.entry-conflicts').waitFor({ state: 'detached' });
    await page.reload();
    await page.waitForSelector('.entry-plays li');
    expect(await page.locator('.entry-conflicts').count()).toBe(0);
  });

  test('at which the server fails each time, while it answers otherwise, holds up nothing', async () => {
    const { device, page } = await openOnDevice();
    await device.route('**/changes', async (route) => {
      if (!route.request().postData()?.includes('Stumbling block.')) return route.continue();
      return route.fulfill({
        status: 500,
        contentType: 'application/problem+json',
        body: JSON.stringify({ title: 'Something went wrong here', status: 500, detail: 'It went wrong.' }),
      });
    });
    await mark(page, 'L', 'Stumbling block.');
    await mark(page, 'U', 'Gets by.');
    const aside = page.locator('.entry-conflicts li:has-text("Stumbling block.")');
    await aside.first().waitFor();
    await allElseSent(page);
    expect(await comments()).toContain('Gets by.');
    await device.unroute('**/changes');
    await page.click('.entry-conflicts button:has-text("Send it again")');
    await page.locator('.entry-conflicts').waitFor({ state: 'detached' });
    await expect.poll(comments).toContain('Stumbling block.');
  });
});
