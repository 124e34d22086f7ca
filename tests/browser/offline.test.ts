// @module-tag rest
import type { BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { signIn } from './support/chromium.ts';
import { allSent } from './support/entry-driver.ts';
import { EntryPages } from './support/one-report.ts';

// An observer's list and each accepted game without a network, from a page that was not open before; whose it is; and
// the program as an application of the device.

let pages: EntryPages;
let game: OneGame;
let device: BrowserContext;

beforeAll(async () => {
  pages = await EntryPages.start();
});
afterAll(() => pages?.stop());
beforeEach(async () => {
  game = await oneGame(pages.database.pool, 6);
  device = await pages.browser.newContext({ viewport: { width: 1280, height: 900 } });
  await signInAs(game.observerId);
  return () => device.close();
});

async function signInAs(personId: string): Promise<void> {
  const who = { conferenceId: game.conferenceId, personId };
  await signIn(device, pages.address, await startSession(pages.database.pool, who));
}

/** Visits the list with a network: that is all an observer has to do before they leave for the stadium. */
async function visitList(at = '/my/games'): Promise<void> {
  const page = await device.newPage();
  await page.goto(`${pages.address}${at}`);
  await page.waitForSelector('#my-games[data-ready]', { state: 'attached' });
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  await page.close();
}

/** A page that was not open before, at an address typed anew. */
async function cold(path: string): Promise<Page> {
  const page = await device.newPage();
  await page.goto(`${pages.address}${path}`);
  return page;
}

async function begin(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Begin the report on Visitors at Home' }).click();
  await page.waitForSelector('#report-entry[data-ready]');
}

async function mark(page: Page): Promise<void> {
  await page.click('.entry-plays li:nth-child(2) button');
  await page.click('.officials button:has(.letter:text-is("L"))');
  await page.click('.duties .duty:has-text("Everybody watches players")');
  await page.waitForSelector('.mark-list .tag:text-is("missed")');
}

const inDatabase = async () =>
  (
    await pages.database.pool.query(
      `SELECT r.id AS report, r.observer_id AS observer, o.position, o.finding
         FROM report r LEFT JOIN observation o ON o.conference_id = r.conference_id AND o.report_id = r.id
          AND o.removed_at IS NULL
        WHERE r.conference_id = $1 ORDER BY r.id`,
      [game.conferenceId],
    )
  ).rows;

describe('without a network', () => {
  test('the list opens, a game never opened before is begun and entered, and sends later', async () => {
    await visitList();
    await device.setOffline(true);
    const page = await cold('/');
    expect(new URL(page.url()).pathname).toBe('/my/games');
    await page.waitForSelector('#my-games:has-text("No connection")');
    await page.waitForSelector('tr:has-text("Visitors at Home"):has-text("Opens without a network")');
    await begin(page);
    await mark(page);
    await page.waitForSelector('.entry-sending:has-text("not yet sent")');
    // Closed in between, and nothing is lost.
    const { pathname } = new URL(page.url());
    await page.close();
    const list = await cold('/my/games');
    await list.waitForSelector('tr:has-text("On this device"):has-text("not yet sent")');
    await list.close();
    const again = await cold(pathname);
    await again.waitForSelector('.entry-plays .play-marks');
    expect(await inDatabase()).toEqual([]);

    await device.setOffline(false);
    await allSent(again);
    const reportId = pathname.split('/')[2];
    expect(await inDatabase()).toEqual([
      { report: reportId, observer: game.observerId, position: 'line judge', finding: 'missed' },
    ]);
    await again.reload();
    await again.waitForSelector('.entry-plays .play-marks');
  });

  test('what was entered is sent from the list as well', async () => {
    await visitList();
    await device.setOffline(true);
    const page = await cold('/my/games');
    await begin(page);
    await mark(page);
    await page.waitForSelector('.entry-sending:has-text("not yet sent"):not(:has-text("Keeping"))');
    await page.close();
    await device.setOffline(false);
    const list = await cold('/my/games');
    await list.waitForSelector('#my-games[data-ready]', { state: 'attached' });
    await expect.poll(async () => (await inDatabase())[0]?.finding).toBe('missed');
    await list.waitForSelector('tr:has-text("Opens without a network")');
  });

  test('one begun on another device meanwhile takes over what was entered here', async () => {
    await visitList();
    await device.setOffline(true);
    const page = await cold('/my/games');
    await begin(page);
    await mark(page);
    const acting = { conferenceId: game.conferenceId, personId: game.observerId };
    const elsewhere = await openReport(pages.database.pool, acting, game);
    await device.setOffline(false);
    await page.waitForURL(`**/reports/${elsewhere}/entry`);
    await page.waitForSelector('#report-entry[data-ready]');
    await allSent(page);
    expect(await inDatabase()).toEqual([
      { report: elsewhere, observer: game.observerId, position: 'line judge', finding: 'missed' },
    ]);
  });

  test('a visit to the desk keeps the games too; the desk says what is not sent until it is', async () => {
    await visitList('/desk');
    await device.setOffline(true);
    const page = await cold('/');
    await begin(page);
    await mark(page);
    await page.waitForSelector('.entry-sending:has-text("not yet sent"):not(:has-text("Keeping"))');
    await page.close();
    await device.route('**/changes', (route) => route.abort());
    await device.setOffline(false);
    const desk = await cold('/desk');
    await desk.waitForSelector('#not-sent:has-text("Not sent yet from this device: 1 change of 1 game.")');
    await device.unroute('**/changes');
    await desk.reload();
    await expect.poll(async () => (await inDatabase())[0]?.finding).toBe('missed');
    await desk.waitForSelector('#not-sent', { state: 'hidden' });
  });

  test('a game that was only offered is not kept', async () => {
    await pages.database.pool.query(
      `UPDATE observer_assignment SET answer = 'offered' WHERE conference_id = $1 AND observer_id = $2`,
      [game.conferenceId, game.observerId],
    );
    await visitList();
    const page = await cold('/my/games');
    await page.waitForSelector('#my-games[data-ready]', { state: 'attached' });
    expect(await page.textContent('tbody')).not.toContain('Opens without a network');
  });
});

describe('what is kept is one person’s', () => {
  test('signed out, nothing of it is shown; what was not sent waits for its observer', async () => {
    await visitList();
    await device.setOffline(true);
    const page = await cold('/my/games');
    await begin(page);
    await mark(page);
    await page.waitForSelector('.entry-sending:has-text("not yet sent"):not(:has-text("Keeping"))');
    const entry = new URL(page.url()).pathname;
    await page.getByRole('button', { name: 'Sign out' }).click();
    await page.waitForSelector('h1:has-text("No connection")');
    await page.close();
    for (const path of ['/my/games', entry, '/']) {
      const shown = await cold(path);
      expect(await shown.textContent('body')).not.toContain('Visitors at Home');
      expect(await shown.textContent('body')).toContain('Nothing is kept on this device');
      await shown.close();
    }

    // Another observer of the same conference signs in on this device.
    await device.setOffline(false);
    await signInAs(game.secondObserverId);
    await visitList();
    const theirs = await cold(entry);
    expect(await theirs.textContent('body')).not.toContain('Everybody watches players');
    await theirs.close();
    await device.setOffline(true);
    const list = await cold('/my/games');
    expect(await list.textContent('.who')).toContain('Test Other');
    await list.close();
    const foreign = await cold(entry);
    await foreign.waitForSelector('#report-entry[data-ready]');
    expect(await foreign.textContent('#report-entry')).toContain('has not been opened on this device before');
    await foreign.close();

    // Its own observer comes back: it is sent.
    await device.setOffline(false);
    await signInAs(game.observerId);
    await visitList();
    await expect
      .poll(async () => (await inDatabase()).map(({ observer, finding }) => ({ observer, finding })))
      .toEqual([{ observer: game.observerId, finding: 'missed' }]);
  });
});

test('it can be installed: manifest, icons, worker', async () => {
  await visitList();
  const page = await cold('/my/games');
  const devtools = await device.newCDPSession(page);
  const { errors, data } = await devtools.send('Page.getAppManifest');
  expect(errors).toEqual([]);
  const manifest = JSON.parse(data!) as {
    start_url: string;
    display: string;
    theme_color: string;
    icons: { src: string; sizes: string; type: string; purpose?: string }[];
  };
  expect(manifest).toMatchObject({ start_url: '/', display: 'standalone', theme_color: '#17403d' });
  for (const { src, sizes, type } of manifest.icons) {
    const answer = await page.request.get(`${pages.address}${src}`);
    expect(answer.headers()['content-type']).toBe(type);
    if (sizes === 'any') continue;
    // Width and height stand in a PNG's first chunk (PNG specification, section 11.2.2).
    const image = await answer.body();
    expect(`${image.readUInt32BE(16)}x${image.readUInt32BE(20)}`).toBe(sizes);
  }
  expect(manifest.icons.some(({ purpose }) => purpose === 'maskable')).toBe(true);
  // A context of a test is one without a trace, in which Chromium installs nothing; it names nothing else.
  const { installabilityErrors } = await devtools.send('Page.getInstallabilityErrors');
  expect(installabilityErrors.map(({ errorId }) => errorId).filter((id) => id !== 'in-incognito')).toEqual(
    [],
  );
});
