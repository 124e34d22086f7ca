// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { freeKickCall, type OneGame, oneGame, plainPlay } from '../reports/one-game.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import { allSent } from './support/entry-driver.ts';

// The officials' half of the entry page: who owed what as the crew stands, and marks in an official and a duty.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let context: BrowserContext;
let page: Page;
let game: OneGame;

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
  const kickoff = { kind: 'free kick', spot: 35, kickResult: 'touchback' } as const;
  game = await oneGame(database.pool, [kickoff, plainPlay(1), plainPlay(2)]);
  const who = { conferenceId: game.conferenceId, personId: game.observerId };
  const reportId = await openReport(database.pool, who, game);
  context = await browser.newContext({ viewport: { width: 1280, height: 900 }, bypassCSP: true });
  await signIn(context, address, await startSession(database.pool, who));
  page = await context.newPage();
  await page.goto(`${address}/reports/${reportId}/entry`);
  await page.waitForSelector('#report-entry[data-ready]');
  return () => context.close();
});

const official = (letter: string) => page.locator(`.officials button:has(.letter:text-is("${letter}"))`);
const duty = (title: string) => page.locator(`.duties .duty:has-text("${title}")`);
const goToPlay = (number: number) => page.click(`.entry-plays li:nth-child(${number}) button`);
const marks = async () =>
  (
    await database.pool.query(
      `SELECT position, duty_key AS duty, finding, comment FROM observation
        WHERE conference_id = $1 AND removed_at IS NULL ORDER BY id`,
      [game.conferenceId],
    )
  ).rows;

describe('who owed what', () => {
  test.each([1280, 820, 390])(
    'is shown as the crew stands, touched without missing, at %i px',
    async (width) => {
      await page.setViewportSize({ width, height: 900 });
      await goToPlay(2);
      const boxes = await page.$$eval('.officials button', (all) =>
        all.map((each) => {
          const { x, y, width, height } = each.getBoundingClientRect();
          return { letter: each.querySelector('.letter')!.textContent!, x, y, width, height };
        }),
      );
      expect(boxes.map(({ letter }) => letter).join('')).toBe('RUCHLSFB');
      for (const [at, one] of boxes.entries()) {
        expect(Math.min(one.width, one.height)).toBeGreaterThanOrEqual(44);
        for (const other of boxes.slice(at + 1)) {
          const apart = Math.abs(one.x - other.x) >= one.width || Math.abs(one.y - other.y) >= one.height;
          expect(apart, `${one.letter} beside ${other.letter}`).toBe(true);
        }
      }
      const of = (letter: string) => boxes.find((box) => box.letter === letter)!;
      expect(of('H').x).toBeLessThan(of('R').x);
      expect(of('L').x).toBeGreaterThan(of('R').x);
      expect(of('B').y).toBeLessThan(of('U').y);
      expect(of('R').y).toBeGreaterThan(of('H').y);
      const beyond = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
      expect(beyond).toBeLessThanOrEqual(0);
    },
  );

  test('says in words how much each owed, what is undecided and what is marked', async () => {
    await goToPlay(2);
    const label = () => official('L').textContent();
    expect(await label()).toMatch(/^L\d+ owed, \d+ undecided, line judge Test line judge$/);
    expect(await official('L').locator('.undecided-dot').count()).toBe(1);
    await official('L').click();
    await duty('Everybody watches players').click();
    await expect.poll(label).toMatch(/^L\d+ owed, \d+ undecided, 1 marked, line judge Test line judge1$/);
    expect(await accessibilityProblems(page)).toEqual([]);
  });
});

describe('a mark', () => {
  test('takes the official and the duty: missed, or a wrong call; another finding is one more', async () => {
    await goToPlay(2);
    await official('L').click();
    await duty('Everybody watches players').click();
    await page.waitForSelector('.mark-list .tag:text-is("missed")');
    await official('U').click();
    await duty('Everybody watches players').click();
    await page.click('.findings button:has-text("worth showing")');
    await page.waitForSelector('.mark-list .tag:text-is("worth showing")');
    await goToPlay(1);
    await official('R').click();
    await duty(freeKickCall.title).click();
    await page.waitForSelector('.mark-list .tag:text-is("wrong call")');
    await allSent(page);
    expect(await marks()).toEqual([
      { position: 'line judge', duty: 'everybodys-duty', finding: 'missed', comment: '' },
      { position: 'umpire', duty: 'everybodys-duty', finding: 'model', comment: '' },
      { position: 'referee', duty: 'free-kick-call', finding: 'wrong call', comment: '' },
    ]);
  });

  test('takes two keys, the next one the next two, and a comment when wanted', async () => {
    await goToPlay(2);
    await page.locator('#play-pane').focus();
    const number = async () =>
      (await duty('Everybody watches players').locator('.key').textContent())!.trim();
    const marked: string[] = [];
    for (const letter of ['l', 'u', 'b']) {
      await page.keyboard.press(letter);
      await page.waitForSelector('.duties .duty');
      marked.push(await number());
      await page.keyboard.press(marked.at(-1)!);
      await page.waitForFunction(() => document.activeElement?.classList.contains('duty'));
    }
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.activeElement?.id === 'mark-comment');
    await page.keyboard.type('Looked at the ball.');
    await page.keyboard.press('Enter');
    await allSent(page);
    expect(await marks()).toEqual([
      { position: 'line judge', duty: 'everybodys-duty', finding: 'missed', comment: '' },
      { position: 'umpire', duty: 'everybodys-duty', finding: 'missed', comment: '' },
      { position: 'back judge', duty: 'everybodys-duty', finding: 'missed', comment: 'Looked at the ball.' },
    ]);
  });

  test('has its comment to the last key after a reload, the field not left', async () => {
    await goToPlay(2);
    await official('L').click();
    await duty('Everybody watches players').click();
    await page.waitForSelector('.mark-list .tag:text-is("missed")');
    await duty('Everybody watches players').click();
    await page.waitForFunction(() => document.activeElement?.id === 'mark-comment');
    await page.keyboard.type('Looked at the ball, not at the players');
    await page.reload();
    await page.waitForSelector('#report-entry[data-ready]');
    await allSent(page);
    expect(await marks()).toEqual([
      {
        position: 'line judge',
        duty: 'everybodys-duty',
        finding: 'missed',
        comment: 'Looked at the ball, not at the players',
      },
    ]);
  });

  test('is not made by reading what a duty asks for', async () => {
    await goToPlay(2);
    await official('L').click();
    await page.getByLabel('Read without marking: Everybody watches players').click();
    await page.waitForSelector('.finding-box:has-text("Is expected to keep eyes on players.")');
    await page.click('.findings button:has-text("not seen")');
    await page.waitForSelector('.mark-list .tag:text-is("not seen")');
    await allSent(page);
    expect((await marks()).map(({ finding }) => finding)).toEqual(['not seen']);
  });
});

test('duties stand in the order in which the season has them as missed', async () => {
  await goToPlay(2);
  await official('L').click();
  await page.waitForSelector('.duties:has-text("the weightiest first, as nothing is counted")');
  const titles = () =>
    page.$$eval('.duties > ol .duty-text', (all) => all.map((each) => each.firstChild!.textContent!.trim()));
  const before = await titles();
  const last = before.at(-1)!;
  // Another observer's filed report has it as missed.
  await database.pool.query(
    `WITH other AS (
       INSERT INTO report (conference_id, id, season_id, game_id, observer_id, rubric_version_id, state, filed_at)
       VALUES ($1, gen_random_uuid(), $2, $3, $4, $7, 'filed', now()) RETURNING id)
     INSERT INTO opportunity_count (conference_id, report_id, person_id, position, duty_key, opportunities, not_met)
     SELECT $1, other.id, $5, 'line judge', d.key, 40, 3 FROM other, duty d
      WHERE d.conference_id = $1 AND d.title = $6`,
    [
      game.conferenceId,
      game.seasonId,
      game.gameId,
      game.secondObserverId,
      game.crew['line judge'],
      last,
      game.rubricVersionId,
    ],
  );
  await page.reload();
  await page.waitForSelector('#report-entry[data-ready]');
  await goToPlay(2);
  await official('L').click();
  await page.waitForSelector('.duties:has-text("most often missed this season first")');
  expect(await titles()).toEqual([last, ...before.slice(0, -1)]);
});
