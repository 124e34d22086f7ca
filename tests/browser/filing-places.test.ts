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
import { allSent, openFacts, pressFile } from './support/entry-driver.ts';

// What is missing before a report can be filed leads to its place, and every kind of step can be taken back.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let context: BrowserContext;
let page: Page;
let game: OneGame;
let reportId: string;

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

async function openGame(plays: number): Promise<void> {
  game = await oneGame(database.pool, plays);
  const acting = { conferenceId: game.conferenceId, personId: game.observerId };
  reportId = await openReport(database.pool, acting, game);
  await context?.close();
  context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  await signIn(
    context,
    address,
    await startSession(database.pool, { conferenceId: game.conferenceId, personId: game.observerId }),
  );
  page = await context.newPage();
  await page.goto(`${address}/reports/${reportId}/entry`);
  await page.waitForSelector('#report-entry[data-ready]');
}

async function mark(play: number, letter: string, finding: number, comment = ''): Promise<void> {
  await page.click(`.entry-plays li:nth-child(${play}) button`);
  await page.click(`.officials button:has(.letter:text-is("${letter}"))`);
  await page.click('.duties .duty:has-text("Everybody watches players")');
  await page.click(`.findings button >> nth=${finding}`);
  if (comment) await page.fill('.mark-comment textarea', comment);
  await page.locator('.mark-comment textarea').blur();
}

/** Opens the list of what is missing and takes the way that names `text`. */
async function goTo(text: string): Promise<void> {
  await page.click('.entry-actions button:has-text("Check and file")');
  await page.click(`dialog .missing button:has-text("${text}")`);
  await page.waitForSelector('dialog:has-text("Check and file")', { state: 'detached' });
}

const focused = () =>
  page.evaluate(() => {
    const here = document.activeElement;
    return here?.id || here?.textContent?.trim() || here?.tagName;
  });
const expectFocus = (what: string | RegExp) => expect.poll(focused).toMatch(what);

describe('what is missing leads to its place', () => {
  test('the crew, the play log and officials with too few opportunities', async () => {
    await openGame(0);
    await goTo('The play log is empty');
    await expectFocus(/^New play$/);
    await goTo('Confirm who really worked');
    await page.waitForSelector('dialog:has-text("Who worked this game")');
    await page.click('dialog button:has-text("Confirm this crew")');

    await openGame(1);
    await database.pool.query(
      `UPDATE play SET facts = '{}', down = NULL, distance = NULL WHERE conference_id = $1 AND number = 1`,
      [game.conferenceId],
    );
    await page.reload();
    await page.waitForSelector('#report-entry[data-ready]');
    await goTo('The referee has');
    // Of a play whose team is not known, that is asked first.
    await expectFocus(/has the ball$/);
  });

  test('a mark without its comment, and one that cannot be counted any more', async () => {
    await openGame(30);
    await mark(7, 'L', 0);
    await mark(9, 'U', 0, 'Late.');
    await page.click('.entry-plays li:nth-child(1) button');
    await goTo('the missed mark on the line judge at play 7');
    await expectFocus('mark-comment');
    expect(await page.textContent('#play-title')).toMatch(/^Play 7\b/);
    await page.fill('.mark-comment textarea', 'Turned away.');
    await page.locator('.mark-comment textarea').blur();

    await page.click('.entry-actions button:has-text("Crew")');
    await page.getByLabel('umpire (U)').fill('');
    await page.click('dialog button:has-text("Confirm this crew")');
    await goTo('A mark on the umpire at play 9 cannot be counted');
    await expectFocus(/Everybody watches players/);
    await page.click('.mark-list button:has-text("Remove mark")');
    await page.click('.entry-actions button:has-text("Check and file")');
    await page.waitForSelector('dialog:has-text("Nothing is missing")');
    await pressFile(page);
    await page.waitForSelector('.entry-name .tag:text-is("filed")');
  });
});

test('the play list is one stop of the Tab key, and arrows move in it', async () => {
  await openGame(30);
  await page.click('.entry-plays li:nth-child(3) button');
  await page.keyboard.press('Tab');
  await expectFocus(/^New play$/);
  await page.keyboard.press('Shift+Tab');
  await expectFocus(/^3/);
  await page.keyboard.press('ArrowDown');
  await expectFocus(/^4/);
  await page.keyboard.press('Enter');
  await expect.poll(() => page.textContent('#play-title')).toMatch(/^Play 4\b/);
});

test('a fact that cannot be is answered beside its field, and what was typed stays', async () => {
  await openGame(3);
  await page.click('.entry-plays li:nth-child(2) button');
  await openFacts(page);
  const wrong: [field: string, typed: string, says: string][] = [
    ['endSpot', '200', 'write the side and the yard line, such as own 27'],
    ['quarter', 'two', 'write a whole number from 1 to 12'],
    ['clockSeconds', '16:00', 'write m:ss up to 15:00, such as 7:42'],
    ['spot', '', 'write the side and the yard line, such as own 27'],
  ];
  for (const [field, typed, says] of wrong) {
    await page.fill(`#fact-${field}`, typed);
    await page.locator(`#fact-${field}`).blur();
    await page.waitForSelector(`#fact-${field}-wrong:text-is("${says}")`);
    expect(await page.inputValue(`#fact-${field}`)).toBe(typed);
  }
  await page.fill('#fact-endSpot', '33');
  await page.locator('#fact-endSpot').blur();
  await page.waitForSelector('#fact-endSpot-wrong', { state: 'detached' });
  await allSent(page);
  const { rows } = await database.pool.query(
    `SELECT quarter, spot, facts->'endSpot' AS "endSpot" FROM play WHERE conference_id = $1 AND number = 2`,
    [game.conferenceId],
  );
  expect(rows).toEqual([{ quarter: 1, spot: 22, endSpot: 33 }]);
});

describe('undo', () => {
  beforeEach(() => openGame(12));
  const undo = () => page.click('.entry-actions button:has-text("Undo")');
  const confirmed = async () =>
    (await database.pool.query('SELECT crew_confirmed_at FROM game WHERE id = $1', [game.gameId])).rows[0]
      .crew_confirmed_at !== null;

  test('takes back a confirmed crew', async () => {
    await page.click('.entry-actions button:has-text("Crew (to confirm)")');
    await page.click('dialog button:has-text("Confirm this crew")');
    await page.waitForSelector('.entry-actions button:text-is("Crew")');
    await allSent(page);
    expect(await confirmed()).toBe(true);
    await undo();
    await page.waitForSelector('.entry-actions button:has-text("Crew (to confirm)")');
    await allSent(page);
    expect(await confirmed()).toBe(false);
  });

  test('takes back a changed fact, a new play, a film time, a finding and a removed mark', async () => {
    await page.click('.entry-plays li:nth-child(2) button');
    await openFacts(page);
    await page.selectOption('#fact-outOfBounds', 'yes');
    await undo();
    await expect.poll(() => page.inputValue('#fact-outOfBounds')).toBe('no');

    await page.fill('#film-time', '1:02:03');
    await page.locator('#film-time').blur();
    await undo();
    await expect.poll(() => page.inputValue('#film-time')).toBe('');

    await page.click('.entry-actions button:has-text("New play")');
    await page.waitForSelector('.entry-plays li:nth-child(13)');
    await undo();
    await page.waitForSelector('.entry-plays li:nth-child(13)', { state: 'detached' });

    await mark(2, 'L', 0);
    await page.click('.findings button >> nth=1');
    await page.waitForSelector('.mark-list .tag:text-is("worth showing")');
    await undo();
    await page.waitForSelector('.mark-list .tag:text-is("missed")');
    await page.click('.mark-comment button:has-text("Remove mark")');
    await page.waitForSelector('.mark-list', { state: 'detached' });
    await undo();
    await page.waitForSelector('.mark-list .tag:text-is("missed")');
    await allSent(page);
    const { rows } = await database.pool.query(
      `SELECT (SELECT count(*)::int FROM play WHERE conference_id = $1 AND removed_at IS NULL) AS plays,
              (SELECT count(*)::int FROM play WHERE conference_id = $1 AND film_seconds IS NOT NULL) AS timed,
              (SELECT string_agg(finding, ',') FROM observation WHERE conference_id = $1 AND removed_at IS NULL) AS found,
              (SELECT count(*)::int FROM report_change WHERE conference_id = $1 AND outcome <> 'applied') AS unlike`,
      [game.conferenceId],
    );
    expect(rows[0]).toEqual({ plays: 12, timed: 0, found: 'missed', unlike: 0 });
  });
});
