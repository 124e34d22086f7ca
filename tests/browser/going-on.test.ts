// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import type { Play } from '../../server/football/play.ts';
import { type PlayColumns, playOf } from '../../server/games/play-rows.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import { allSent } from './support/entry-driver.ts';

// What the entry page offers so that nothing is typed that is known: the scheduled crew, how the game goes on, and the
// start of the next play when one is corrected.

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
afterEach(() => context?.close());

async function openGame(plays: readonly Play[], width = 1280, prepare = async () => {}): Promise<void> {
  game = await oneGame(database.pool, plays);
  await prepare();
  const who = { conferenceId: game.conferenceId, personId: game.observerId };
  const reportId = await openReport(database.pool, who, game);
  context = await browser.newContext({ viewport: { width, height: 900 }, bypassCSP: true });
  await signIn(context, address, await startSession(database.pool, who));
  page = await context.newPage();
  await page.goto(`${address}/reports/${reportId}/entry`);
  await page.waitForSelector('#report-entry[data-ready]');
}

const button = (name: string) => page.getByRole('button', { name, exact: true });
const option = () => page.locator('dialog [role="option"]');

async function playsKept(): Promise<Play[]> {
  const { rows } = await database.pool.query<PlayColumns>(
    'SELECT * FROM play WHERE conference_id = $1 AND removed_at IS NULL ORDER BY number',
    [game.conferenceId],
  );
  return rows.map((row) => JSON.parse(JSON.stringify(playOf(row))) as Play);
}

/** Nobody is entered as working; a crew is scheduled, and one more official could stand in. */
async function schedule(): Promise<void> {
  const { conferenceId, seasonId, gameId } = game;
  const one = async (sql: string, values: unknown[]) => (await database.pool.query(sql, values)).rows[0].id;
  const crewId = await one(
    `INSERT INTO crew (conference_id, season_id, name) VALUES ($1, $2, 'Fir') RETURNING id`,
    [conferenceId, seasonId],
  );
  await database.pool.query(
    `INSERT INTO crew_member (conference_id, crew_id, position, person_id)
     SELECT conference_id, $3, position, person_id FROM working_crew_member WHERE conference_id = $1 AND game_id = $2`,
    [conferenceId, gameId, crewId],
  );
  await database.pool.query('UPDATE game SET crew_id = $3 WHERE conference_id = $1 AND id = $2', [
    conferenceId,
    gameId,
    crewId,
  ]);
  await database.pool.query('DELETE FROM working_crew_member WHERE conference_id = $1', [conferenceId]);
  const substitute = await one(
    `INSERT INTO person (conference_id, email, given_name, family_name)
     VALUES ($1, 'substitute@example.test', 'Zoë', 'Marsh-Quill') RETURNING id`,
    [conferenceId],
  );
  await database.pool.query(`INSERT INTO person_role VALUES ($1, $2, 'official')`, [
    conferenceId,
    substitute,
  ]);
}

async function crewKept(): Promise<Record<string, string>> {
  const { rows } = await database.pool.query<{ position: string; name: string }>(
    `SELECT w.position, p.given_name || ' ' || p.family_name AS name FROM working_crew_member w
       JOIN person p ON p.conference_id = w.conference_id AND p.id = w.person_id WHERE w.conference_id = $1`,
    [game.conferenceId],
  );
  return Object.fromEntries(rows.map(({ position, name }) => [position, name]));
}

describe('the crew', () => {
  test('that was scheduled is entered in one touch', async () => {
    await openGame([{ kind: 'run', spot: 40 }], 390, schedule);
    expect(await page.textContent('.crew-notice')).toContain('Test back judge');
    expect(await accessibilityProblems(page)).toEqual([]);
    await button('This crew worked').click();
    await page.waitForSelector('.crew-notice', { state: 'detached' });
    expect(await page.locator('.officials button').count()).toBe(8);
    await allSent(page);
    expect(Object.keys(await crewKept())).toHaveLength(8);
    expect((await crewKept()).umpire).toBe('Test umpire');
  });

  test.each([390, 1280])(
    'is filled in, and a substitute found by typing, without network, at %i px',
    async (width) => {
      await openGame([{ kind: 'run', spot: 40 }], width, schedule);
      await context.setOffline(true);
      await button('Somebody else did …').click();
      const field = (position: string) => page.getByRole('combobox', { name: position });
      expect(await field('side judge').inputValue()).toBe('Test side judge');
      expect(await field('referee').inputValue()).toBe('Test referee');

      // By keys alone, any part of the name, accents or not.
      await field('side judge').focus();
      await page.keyboard.type('qui zoe');
      await expect
        .poll(() => option().allTextContents())
        .toEqual([expect.stringContaining('Zoë Marsh-Quill')]);
      const box = (await option().boundingBox())!;
      expect(box.height).toBeGreaterThanOrEqual(44);
      expect(box.x + box.width).toBeLessThanOrEqual(width);
      expect(await field('side judge').getAttribute('aria-activedescendant')).toBe(
        await option().getAttribute('id'),
      );
      expect(await accessibilityProblems(page)).toEqual([]);
      await page.keyboard.press('Enter');
      expect(await field('side judge').inputValue()).toBe('Zoë Marsh-Quill');
      expect(await field('side judge').getAttribute('aria-expanded')).toBe('false');

      // Escape brings back who was there, and leaves the dialog open; what nobody is called is said.
      await field('umpire').fill('nobody by that name');
      await page.waitForSelector('text=No official here is called “nobody by that name”');
      await field('umpire').press('Escape');
      expect(await field('umpire').inputValue()).toBe('Test umpire');
      // By touch: who usually works there is offered first.
      await field('line judge').fill('test');
      await expect.poll(() => option().first().textContent()).toContain('Test line judge');
      await option().nth(1).click();
      const twice = await field('line judge').inputValue();
      await button('Confirm this crew').click();
      await page.waitForSelector('dialog [role="alert"]:has-text("entered twice")');
      expect(twice).not.toBe('Test line judge');
      // Emptied, nobody works it.
      await field('line judge').fill('');
      await button('Confirm this crew').click();
      await page.waitForSelector('dialog', { state: 'detached' });
      expect(await page.locator('.officials button').count()).toBe(7);
      await context.setOffline(false);
      await allSent(page);
      const kept = await crewKept();
      expect(kept['side judge']).toBe('Zoë Marsh-Quill');
      expect(kept['line judge']).toBeUndefined();
      expect(Object.keys(kept)).toHaveLength(7);
    },
  );
});

const kickoff: Play = {
  kind: 'free kick',
  spot: 35,
  quarter: 1,
  clockSeconds: 900,
  offense: 'visitor',
  kickResult: 'touchback',
};
const down: Play = {
  kind: 'run',
  spot: 30,
  quarter: 1,
  clockSeconds: 500,
  down: 2,
  distance: 7,
  offense: 'home',
  endSpot: 33,
  score: 'none',
  turnover: 'none',
  fouls: [],
};

describe('how the game goes on', () => {
  test('is offered at the end of a half, in one touch and one step to take back', async () => {
    await openGame([kickoff, { ...down, quarter: 2, clockSeconds: 40 }], 390);
    await page.click('.entry-actions button:has-text("New play")');
    const way = button('Second half: kickoff by Home');
    const box = (await way.boundingBox())!;
    expect(box.height).toBeGreaterThanOrEqual(44);
    expect(await accessibilityProblems(page)).toEqual([]);
    await way.click();
    await allSent(page);
    expect((await playsKept())[2]).toEqual({
      kind: 'free kick',
      spot: 35,
      quarter: 3,
      clockSeconds: 900,
      offense: 'home',
    });
    // It was a mistake: one step back, and the down is there again, with the clock about what it may be.
    await page.click('.entry-actions button:has-text("Undo")');
    await button('Second half: kickoff by Home').waitFor();
    await allSent(page);
    expect((await playsKept())[2]).toEqual({
      kind: 'run',
      spot: 33,
      quarter: 2,
      clockAbout: 5,
      down: 3,
      distance: 4,
      offense: 'home',
    });
    // Nothing is offered any more once the play says something, nor in the middle of a quarter.
    await page.click('.entry-plays li:nth-child(1) button');
    expect(await page.locator('.going-on').count()).toBe(0);
  });

  test('begins with the kickoff of either team', async () => {
    await openGame([]);
    await page.click('.entry-play button:has-text("New play")');
    await button('Kickoff by Visitors').click();
    await allSent(page);
    expect((await playsKept())[0]).toMatchObject({
      kind: 'free kick',
      offense: 'visitor',
      clockSeconds: 900,
    });
    expect(await button('Kickoff by Home').count()).toBe(1);
    expect(await page.locator('.going-on button').count()).toBe(1);
  });

  test('carries a penalty on', async () => {
    await openGame([kickoff, { ...down, fouls: [{ foul: 'holding', by: 'offense', outcome: 'accepted' }] }]);
    await page.click('.entry-actions button:has-text("New play")');
    await allSent(page);
    expect((await playsKept())[2]).toMatchObject({
      down: 2,
      distance: 17,
      spot: 20,
      offense: 'home',
      clockAbout: 480,
    });
  });
});

describe('a corrected play', () => {
  const next: Play = { ...down, down: 3, distance: 4, spot: 33, clockSeconds: 470, endSpot: 37 };
  const correctEnd = async (yards: string) => {
    await page.click('.entry-plays li:nth-child(2) button');
    const field = page.locator('#fact-endSpot');
    const around = page.locator('details:has(#fact-endSpot)').first();
    if ((await around.getAttribute('open')) === null) await around.locator('summary').first().click();
    await field.fill(yards);
    await field.blur();
  };

  test('offers to mend the next in one step, and says what changes in who owed what', async () => {
    await openGame([kickoff, down, next], 390);
    await correctEnd('38');
    const offer = page.locator('.mend-offer');
    await offer.waitFor();
    const text = (await offer.textContent())!;
    expect(text).toContain('Play 3 now starts otherwise');
    expect(text).toContain('down: 1, not 3');
    expect(text).toMatch(/\d+ dut(y|ies) (more|less)/);
    await offer.locator('summary').click();
    expect(await offer.locator('li').count()).toBeGreaterThan(0);
    expect(await accessibilityProblems(page)).toEqual([]);
    await button('Mend play 3').click();
    await offer.waitFor({ state: 'detached' });
    await allSent(page);
    expect((await playsKept())[2]).toMatchObject({ down: 1, distance: 10, spot: 38, endSpot: 37 });
    // One step back: the next play as it was, and the offer again.
    await page.click('.entry-actions button:has-text("Undo")');
    await offer.waitFor();
    await allSent(page);
    expect((await playsKept())[2]).toMatchObject({ down: 3, distance: 4, spot: 33 });
    await button('Leave it').click();
    await offer.waitFor({ state: 'detached' });
  });

  test('offers nothing when what follows stays the same, or the correction is taken back', async () => {
    await openGame([kickoff, down, next]);
    await correctEnd('34');
    await page.locator('.mend-offer').waitFor();
    await page.click('.entry-actions button:has-text("Undo")');
    await page.locator('.mend-offer').waitFor({ state: 'detached' });
    expect((await playsKept())[2]).toMatchObject({ down: 3, distance: 4, spot: 33 });
  });
});
