// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import { allSent, openFacts } from './support/entry-driver.ts';

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

async function openOnDevice(): Promise<{ device: BrowserContext; page: Page }> {
  const device = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  devices.push(device);
  const who = { conferenceId: game.conferenceId, personId: game.observerId };
  await signIn(device, address, await startSession(database.pool, who));
  const page = await device.newPage();
  await page.goto(`${address}/reports/${reportId}/entry`);
  await page.waitForSelector('.entry-plays li');
  return { device, page };
}

async function mark(page: Page, letter: string, finding: number, comment: string): Promise<void> {
  await page.click('.entry-plays li:nth-child(2) button');
  await page.click(`.officials button:has(.letter:text-is("${letter}"))`);
  await page.click('.duties .duty:has-text("Everybody watches players")');
  await page.click(`.findings button >> nth=${finding}`);
  await page.fill('.mark-comment textarea', comment);
  await page.locator('.mark-comment textarea').blur();
}

const marks = async () =>
  (
    await database.pool.query<{ position: string; finding: string; comment: string }>(
      `SELECT position, finding, comment FROM observation WHERE conference_id = $1 AND removed_at IS NULL
        ORDER BY position`,
      [game.conferenceId],
    )
  ).rows;

describe('one report on two devices', () => {
  test('what differs is shown with both versions, the rest merges', async () => {
    const one = await openOnDevice();
    const other = await openOnDevice();
    await one.device.setOffline(true);
    await other.device.setOffline(true);
    await mark(one.page, 'L', 0, 'Turned away.');
    await mark(other.page, 'L', 1, 'Held it to the end.');
    await mark(other.page, 'U', 0, 'Late to the pile.');
    await one.page.waitForSelector('.entry-sending.waiting:has-text("not yet sent")');
    await one.device.setOffline(false);
    await allSent(one.page);
    await other.device.setOffline(false);
    await allSent(other.page);

    const conflict = other.page.locator('.entry-conflicts li').first();
    await conflict.waitFor();
    const text = await conflict.textContent();
    expect(text).toContain('entered differently on two devices');
    expect(text).toContain('Turned away.');
    expect(text).toContain('worth showing: “Held it to the end.”');
    expect(await marks()).toEqual([
      { position: 'line judge', finding: 'missed', comment: 'Turned away.' },
      { position: 'umpire', finding: 'missed', comment: 'Late to the pile.' },
    ]);
    expect(await other.page.locator('.entry-conflicts li').count()).toBe(1);
    await other.page.click('.entry-actions button:has-text("Check and file")');
    await other.page.click('dialog .missing button:has-text("entered differently on two devices")');
    await expect
      .poll(() => other.page.evaluate(() => document.activeElement?.textContent))
      .toMatch(/^Take this change/);
    await other.page.keyboard.press('Enter');
    await other.page.locator('.entry-conflicts').waitFor({ state: 'detached' });
    await expect.poll(() => other.page.evaluate(() => document.activeElement?.id)).toBe('play-pane');
    await allSent(other.page);
    expect((await marks())[0]).toEqual({
      position: 'line judge',
      finding: 'model',
      comment: 'Held it to the end.',
    });
    await one.page.reload();
    await one.page.waitForSelector('.mark-list, .entry-plays li');
    await one.page.click('.entry-plays li:nth-child(2) button');
    await one.page.waitForSelector('.mark-list:has-text("Held it to the end.")');
  });

  test('a mark that comes too late, after filing elsewhere, stays on the device and says so', async () => {
    const { device, page } = await openOnDevice();
    await device.setOffline(true);
    await mark(page, 'L', 0, 'Too late for the server.');
    const acting = { conferenceId: game.conferenceId, personId: game.observerId };
    await database.pool.query(
      `UPDATE play SET facts = facts || '{"looseBall":"none"}' WHERE conference_id = $1`,
      [game.conferenceId],
    );
    await inTransaction(database.pool, async (client) => {
      await confirmCrew(client, acting, game.gameId);
      await fileReport(client, acting, reportId);
    });
    await device.setOffline(false);
    const aside = page.locator('.entry-conflicts li').first();
    await aside.waitFor();
    expect(await aside.textContent()).toContain('Kept here, not taken by the server');
    expect(await aside.textContent()).toContain('This report is filed');
    await page.reload();
    await page.locator('.entry-conflicts li:has-text("Too late for the server.")').first().waitFor();
    expect(await marks()).toEqual([]);
  });

  test('undo takes back a mark, and a play removed with its marks', async () => {
    const { page } = await openOnDevice();
    await mark(page, 'L', 0, 'Turned away.');
    await openFacts(page);
    await page.click('button:has-text("Remove play")');
    await page.click('dialog button:has-text("Remove play and marks")');
    await allSent(page);
    await page.waitForFunction(() => document.querySelectorAll('.entry-plays li').length === 19);
    expect(await marks()).toEqual([]);
    await page.keyboard.press('Control+z');
    await page.waitForFunction(() => document.querySelectorAll('.entry-plays li').length === 20);
    await allSent(page);
    expect(await marks()).toEqual([{ position: 'line judge', finding: 'missed', comment: 'Turned away.' }]);
    await page.keyboard.press('Control+z');
    await page.keyboard.press('Control+z');
    await allSent(page);
    await expect.poll(marks).toEqual([]);
  });

  test('film of this device follows the play list', async () => {
    const { page } = await openOnDevice();
    await page.click('.entry-actions button:has-text("Film")');
    await page.setInputFiles('.film input[type=file]', {
      name: 'game.wav',
      mimeType: 'audio/wav',
      buffer: silence(20),
    });
    await page.waitForFunction(() => (document.querySelector('video')?.readyState ?? 0) > 0);
    const time = () => page.evaluate(() => document.querySelector('video')!.currentTime);
    await page.evaluate(() => {
      document.querySelector('video')!.currentTime = 12;
    });
    await page.click('.film button:has-text("Play starts here")');
    await allSent(page);
    const { rows } = await database.pool.query(
      'SELECT number, film_seconds FROM play WHERE conference_id = $1 AND film_seconds IS NOT NULL',
      [game.conferenceId],
    );
    expect(rows).toEqual([{ number: 1, film_seconds: 12 }]);
    await page.evaluate(() => {
      document.querySelector('video')!.currentTime = 0;
    });
    await page.click('.entry-plays li:nth-child(3) button');
    await page.click('.entry-plays li:nth-child(1) button');
    await expect.poll(time).toBe(12);
    const tab = page.locator('.film a:has-text("Open in a tab")');
    await page.fill('.film input[type=url]', 'javascript:alert(1)');
    expect(await tab.count()).toBe(0);
    await page.fill('.film input[type=url]', 'https://film.example/game.mp4');
    expect(await tab.getAttribute('href')).toBe('https://film.example/game.mp4#t=12');
  });
});

/** Some seconds of silence (RIFF WAVE, 8 kHz, 8 bit), which the page's player takes as it takes film. */
function silence(seconds: number): Buffer {
  const samples = Buffer.alloc(8000 * seconds, 128);
  const head = Buffer.alloc(44);
  head.write('RIFF', 0);
  head.writeUInt32LE(36 + samples.length, 4);
  head.write('WAVEfmt ', 8);
  head.writeUInt32LE(16, 16);
  head.writeUInt16LE(1, 20);
  head.writeUInt16LE(1, 22);
  head.writeUInt32LE(8000, 24);
  head.writeUInt32LE(8000, 28);
  head.writeUInt16LE(1, 32);
  head.writeUInt16LE(8, 34);
  head.write('data', 36);
  head.writeUInt32LE(samples.length, 40);
  return Buffer.concat([head, samples]);
}
