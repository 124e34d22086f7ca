// @module-tag rest
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import type { Play } from '../../server/football/play.ts';
import { type PlayColumns, playOf } from '../../server/games/play-rows.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { freeKickCall, type OneGame, oneGame } from '../reports/one-game.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import {
  allSent,
  type Entered,
  enterGame,
  fileReport,
  planGame,
  playsOf,
  seeded,
} from './support/entry-driver.ts';
import { ServerProcess } from './support/server-process.ts';

// A whole report entered in a real browser on a real server, then looked for in the database, mark by mark.

let database: TestDatabase;
let server: ServerProcess;
let browser: Browser;
let game: OneGame;
let reportId: string;
let context: BrowserContext;

beforeAll(async () => {
  database = await testDatabase();
  server = await ServerProcess.start(database.url);
  browser = await launchChromium();
});
afterAll(async () => {
  await browser?.close();
  await server?.kill();
  await database?.drop();
});
beforeEach(() => openGame([]));
afterEach(() => context.close());

async function openGame(plays: readonly Play[]): Promise<void> {
  game = await oneGame(database.pool, plays);
  reportId = await openReport(
    database.pool,
    { conferenceId: game.conferenceId, personId: game.observerId },
    game,
  );
  context = await newDevice();
}

async function newDevice(): Promise<BrowserContext> {
  const device = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  const who = { conferenceId: game.conferenceId, personId: game.observerId };
  await signIn(device, server.address, await startSession(database.pool, who));
  return device;
}

async function openEntry(device: BrowserContext): Promise<Page> {
  const page = await device.newPage();
  await page.goto(`${server.address}/reports/${reportId}/entry`);
  await ready(page);
  return page;
}

const ready = (page: Page) => page.waitForSelector('#report-entry[data-ready]');

/** What the database holds of the report, in the words it was entered in. */
async function inDatabase() {
  const plays = await database.pool.query<PlayColumns & { number: number }>(
    'SELECT * FROM play WHERE conference_id = $1 AND removed_at IS NULL ORDER BY number',
    [game.conferenceId],
  );
  const marks = await database.pool.query<Entered['marks'][number]>(
    `SELECT l.number AS play, o.position, d.title, o.finding, o.comment
       FROM observation o
       JOIN play l ON l.conference_id = o.conference_id AND l.id = o.play_id
       JOIN duty d ON d.conference_id = o.conference_id AND d.rubric_version_id = $2 AND d.key = o.duty_key
      WHERE o.conference_id = $1 AND o.removed_at IS NULL ORDER BY l.number, o.position`,
    [game.conferenceId, game.rubricVersionId],
  );
  const rest = await database.pool.query<{ state: string; unlike: number; people: number }>(
    `SELECT r.state,
            (SELECT count(*)::int FROM report_change c WHERE c.conference_id = $1 AND c.outcome <> 'applied') AS unlike,
            (SELECT count(*)::int FROM observation o
              WHERE o.conference_id = $1 AND o.person_id <> (
                SELECT w.person_id FROM working_crew_member w
                 WHERE w.conference_id = $1 AND w.game_id = r.game_id AND w.position = o.position)) AS people
       FROM report r WHERE r.conference_id = $1`,
    [game.conferenceId],
  );
  return { plays: plays.rows.map((row) => playOf(row)), marks: marks.rows, rest: rest.rows[0] };
}

const inOrder = (marks: Entered['marks']) =>
  [...marks].sort((a, b) => a.play - b.play || (a.position < b.position ? -1 : 1));

async function expectExactly(entered: Entered): Promise<void> {
  const held = await inDatabase();
  expect(held.plays).toEqual(entered.plays);
  expect(inOrder(held.marks)).toEqual(inOrder(entered.marks));
  expect(held.rest).toEqual({ state: 'filed', unlike: 0, people: 0 });
}

test('what a call cost, by key and by touch, without a network too', async () => {
  const page = await openEntry(context);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.click('.entry-actions button:has-text("New play")');
  await page.waitForFunction(() => document.activeElement?.id === 'say');
  await page.keyboard.press('Escape');
  await page.waitForFunction(() => document.activeElement?.id === 'play-pane');
  await page.keyboard.press('l');
  expect(await page.locator('.costs').count()).toBe(0);
  await page.click(`.duties .duty:has-text("${freeKickCall.title}")`);
  await page.waitForFunction(() => document.activeElement?.classList.contains('duty'));
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => document.activeElement?.id === 'mark-comment');
  await page.keyboard.insertText('He was out before the ball.');
  await page.keyboard.press('Escape');
  await page.waitForFunction(() => document.activeElement?.id === 'play-pane');
  await page.keyboard.press('8');
  await page.waitForSelector('.duties .tag:text-is("wrong call, cost possession")');
  await allSent(page);
  const kept = async () => {
    const { rows } = await database.pool.query(
      'SELECT finding, consequence, comment FROM observation WHERE conference_id = $1 AND removed_at IS NULL',
      [game.conferenceId],
    );
    return rows;
  };
  const comment = 'He was out before the ball.';
  expect(await kept()).toEqual([{ finding: 'wrong call', consequence: 'possession', comment }]);
  const heights = await page.$$eval('.costs button', (all) =>
    all.map((each) => each.getBoundingClientRect().height),
  );
  expect(heights).toHaveLength(4);
  expect(Math.min(...heights)).toBeGreaterThanOrEqual(44);

  await context.setOffline(true);
  await page.click('.costs button:has-text("cost a score")');
  await page.waitForSelector('.duties .tag:text-is("wrong call, cost a score")');
  await context.setOffline(false);
  await allSent(page);
  expect(await kept()).toEqual([{ finding: 'wrong call', consequence: 'score', comment }]);
  // Touched again, it is not judged; another finding leaves it behind.
  await page.click('.costs button:has-text("cost a score")');
  await page.waitForSelector('.duties .tag:text-is("wrong call")');
  await page.click('.costs button:has-text("cost yards")');
  await page.click('.findings button:has-text("right call")');
  await page.waitForSelector('.duties .tag:text-is("right call")');
  await allSent(page);
  expect(await kept()).toEqual([{ finding: 'right call', consequence: null, comment }]);
});

// The second half of a whole game is entered by pointer under the hardest conditions, the first is there already; the
// keyboard enters a drive, with every position and finding.
describe('a report', () => {
  test('of 12 plays and 30 marks by keyboard alone, in at most 5 presses a mark', async () => {
    const page = await openEntry(context);
    const entered = await enterGame(() => page, planGame(12, 30, 2), 'keyboard');
    await allSent(page);
    const tabTo = async (text: string) => {
      for (let presses = 0; presses < 400; presses++) {
        const here = await page.evaluate(() => document.activeElement?.textContent ?? '');
        if (here.startsWith(text)) return;
        await page.keyboard.press('Shift+Tab');
      }
      throw new Error(`The Tab key does not reach "${text}"`);
    };
    await page.keyboard.press('Escape');
    await tabTo('Crew');
    await page.keyboard.press('Enter');
    await page.waitForSelector('dialog[open]');
    await tabTo('Confirm this crew');
    await page.keyboard.press('Enter');
    await tabTo('Check and file');
    await page.keyboard.press('Enter');
    await page.waitForSelector('dialog[open]');
    await tabTo('File the report');
    await page.keyboard.press('Enter');
    // Thirty plays are no whole game.
    await page.waitForSelector('dialog button:has-text("File all the same")');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.entry-name .tag:text-is("filed")');
    await expectExactly(entered);
    expect(entered.presses).toHaveLength(30);
    expect(Math.max(...entered.presses)).toBeLessThanOrEqual(5);
    expect(new Set(entered.marks.map(({ position }) => position)).size).toBe(8);
    expect(new Set(entered.marks.map(({ finding }) => finding)).size).toBeGreaterThanOrEqual(4);
  });

  test('of 165 plays, the last 80 with 60 marks by pointer, in at most 5 taps a mark, with the network cut at random moments, the server killed three times, a reload and a closed tab', async () => {
    const random = seeded(20_261);
    const planned = planGame(165, 60, 3, 85);
    const there = playsOf(planned.slice(0, 85));
    await context.close();
    await openGame(there);
    let page = await openEntry(context);
    // The worker has to be in charge before the network may go.
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
    await page.waitForFunction(async () =>
      (await caches.open('crewmark-pages')).keys().then((keys) => keys.length > 2),
    );

    let cutting = true;
    const cuts = (async () => {
      while (cutting) {
        await pause(300 + random() * 2500);
        if (!cutting) break;
        await context.setOffline(true).catch(() => {});
        await pause(200 + random() * 1500);
        await context.setOffline(false).catch(() => {});
      }
    })();
    let restarting: Promise<void> | undefined;
    const powerCut = () => {
      restarting = server.kill().then(async () => {
        await pause(500 + random() * 1500);
        await server.start();
      });
    };
    const entered = await enterGame(
      () => page,
      planned.slice(85),
      'pointer',
      async (play) => {
        if (play === 100 || play === 125 || play === 150) {
          await restarting;
          powerCut();
        }
        if (play === 101) {
          // The server is gone: page and report come from the device, as soon as the bar says that it has them.
          await kept(page);
          await page.reload();
          await ready(page);
        }
        if (play === 126) {
          // Closed sooner, the tab takes with it what the bar does not yet say is kept.
          await kept(page);
          await page.close();
          page = await context.newPage();
          await page.goto(`${server.address}/reports/${reportId}/entry`);
          await ready(page);
        }
      },
      there,
    );
    await restarting;
    cutting = false;
    await cuts;
    await allSent(page);
    await fileReport(page);
    await expectExactly(entered);
    expect(entered.plays).toHaveLength(165);
    expect(entered.presses).toHaveLength(60);
    expect(Math.max(...entered.presses)).toBeLessThanOrEqual(5);
    const again = await database.pool.query(
      `SELECT count(*)::int AS puts FROM observation WHERE conference_id = $1`,
      [game.conferenceId],
    );
    expect(again.rows[0].puts).toBe(60);
  });
});

/**
 * The bar no longer says that something is being written. It does not tell of a comment whose last key is less than half
 * a second ago; its field is left first, as by anyone who goes to another window.
 */
async function kept(page: Page): Promise<void> {
  await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
  await page.waitForSelector('.entry-sending:not(:has-text("Keeping"))');
}

const pause = (milliseconds: number) => new Promise((resolve) => setTimeout(resolve, milliseconds));
