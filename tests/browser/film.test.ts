// @module-tag rest
import { readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { largeFilm, makeFilms, rate } from '../films/made-films.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// From a game without film to its plays on film, in the browser. The film's frames show their own numbers, which are
// read back from the picture: whatever the player says, that is the frame that is seen.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let game: OneGame;
let device: BrowserContext;
let page: Page;
let large: string;
let store: string;
let at: (name: string) => string;

beforeAll(async () => {
  const folder = await folderInRun('films');
  at = await makeFilms(folder);
  large = path.join(folder, 'week 1 wide.mp4');
  await writeFile(large, await largeFilm(at('ordinary.mp4'), 70_000_000));
  store = await folderInRun('store');
  database = await testDatabase();
  app = await testApp(database, { FILM_STORE: store });
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  game = await oneGame(database.pool, 8);
  await database.pool.query('UPDATE play SET film_seconds = number * 0.5 WHERE conference_id = $1', [
    game.conferenceId,
  ]);
  device = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  await signIn(
    device,
    address,
    await startSession(database.pool, { conferenceId: game.conferenceId, personId: game.coordinatorId }),
  );
  page = await device.newPage();
  page.on('dialog', (dialog) => void dialog.accept());
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

const pictures = process.env.PICTURES;
async function look(name: string, on = page) {
  for (const width of [1280, 820, 390]) {
    await on.setViewportSize({ width, height: 900 });
    const [inside, room] = await on.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    expect([name, width, inside! <= room!]).toEqual([name, width, true]);
    if (pictures) await on.screenshot({ path: path.join(pictures, `${name}-${width}.png`), fullPage: true });
  }
  await on.setViewportSize({ width: 1280, height: 900 });
  expect([name, await accessibilityProblems(on)]).toEqual([name, []]);
}

/** The number that the picture shows, once the player stands still. */
const frameSeen = (on = page) =>
  on.evaluate(async () => {
    const video = document.querySelector('video')!;
    while (video.seeking || video.readyState < 2) await new Promise((resolve) => setTimeout(resolve, 20));
    await new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve)));
    const canvas = Object.assign(document.createElement('canvas'), { width: 320, height: 180 });
    const context = canvas.getContext('2d')!;
    context.drawImage(video, 0, 0, 320, 180);
    let seen = 0;
    for (let band = 0; band < 8; band++)
      if (context.getImageData(band * 40 + 20, 90, 1, 1).data[0]! > 128) seen += 2 ** band;
    return seen;
  });
const frameAt = (seconds: number) => Math.floor(seconds * rate + 1e-6);

test('a film is uploaded through a cut connection and a page that was closed, and goes on where it was', async () => {
  await page.goto(`${address}/games/${game.gameId}`);
  await page.click('main a:text-is("Film")');
  await look('no-film');
  await page.fill('#field-uploadAngle', 'Sideline');
  await page.setInputFiles('#upload-file', large);
  let pieces = 0;
  await page.route('**/films/uploads/*', (route) => {
    const isPiece = route.request().method() === 'PATCH';
    if (isPiece) pieces += 1;
    return isPiece && pieces > 1 ? route.abort('connectionreset') : route.continue();
  });
  await page.click('button:text-is("Upload it")');
  await page.waitForSelector('text=The connection was cut');
  await page.reload();
  await page.waitForSelector('text=To go on, choose the same file again');
  await look('arriving');
  await page.unroute('**/films/uploads/*');
  const asked: string[] = [];
  page.on('request', (request) => {
    if (request.url().includes('/films/uploads')) asked.push(request.method());
  });
  await page.fill('#field-uploadAngle', 'Sideline');
  await page.setInputFiles('#upload-file', large);
  await page.click('button:text-is("Upload it")');
  await page.waitForURL(/done=upload/);
  // It asked how much is there, and sent the rest: no second film was begun.
  expect(asked[0]).toBe('HEAD');
  expect(asked).not.toContain('POST');
  await page.waitForSelector('.tag:text-is("can be watched")');
  const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM film WHERE conference_id = $1', [
    game.conferenceId,
  ]);
  expect(rows).toHaveLength(1);
  const kept = await readFile(path.join(store, game.conferenceId, rows[0]!.id));
  expect(kept.equals(await readFile(large))).toBe(true);
  await look('film');
}, 240_000);

test('a play opens at its moment, is marked, and places the others', async () => {
  await page.goto(`${address}/games/${game.gameId}/plays`);
  await page.click(`a[href="/games/${game.gameId}/plays/${game.playIds[1]}/film"]`);
  // As the log has it: 1.0 s.
  await expect.poll(() => frameSeen()).toBe(frameAt(1));
  await page.click('text=Frame on');
  await expect.poll(() => frameSeen()).toBe(frameAt(1) + 1);
  await page.click('text=Frame back');
  await page.click('text=Frame back');
  await expect.poll(() => frameSeen()).toBe(frameAt(1) - 1);
  await page.click('text=To the play');
  await expect.poll(() => frameSeen()).toBe(frameAt(1));
  // Its snap is 1.2 s later in this film than in the log.
  await page.evaluate(() => {
    document.querySelector('video')!.currentTime = 2.2;
  });
  await expect.poll(() => frameSeen()).toBe(frameAt(2.2));
  await page.click('text=Take the film’s time');
  await page.click('text=Mark this play');
  await page.waitForSelector('text=By play 2, plays are 1.2 s later than in the log');
  await page.click('nav a:text-is("Play 3")');
  await expect.poll(() => frameSeen()).toBe(frameAt(1.5 + 1.2));
  await page.goto(`${address}/games/${game.gameId}/plays/${game.playIds[7]}/film`);
  await expect.poll(() => frameSeen()).toBe(frameAt(4 + 1.2));
  await page.fill('#time', '0:05.2');
  await page.click('text=Mark this play');
  await page.waitForSelector('text=2 marked plays agree with the log');
  for (const width of [1280, 820, 390]) {
    await page.setViewportSize({ width, height: 900 });
    await page.goto(`${address}/games/${game.gameId}/plays/${game.playIds[4]}/film`);
    await expect.poll(() => frameSeen()).toBe(frameAt(2.5 + 1.2));
  }
  await look('watch');
  await page.goto(`${address}/games/${game.gameId}/films`);
  await look('marked');
  await page.click('summary');
  await page.click('main a:has-text("Remove Sideline")');
  await look('remove');
  await page.goto(`${address}/settings/film`);
  await look('settings');
}, 240_000);

test('an observer of the game watches, also on a telephone, and marks nothing', async () => {
  const telephone = await browser.newContext({ viewport: { width: 390, height: 844 } });
  await signIn(
    telephone,
    address,
    await startSession(database.pool, { conferenceId: game.conferenceId, personId: game.observerId }),
  );
  const theirs = await telephone.newPage();
  await theirs.goto(`${address}/games/${game.gameId}/plays/${game.playIds[4]}/duties`);
  await theirs.click('text=Watch');
  await expect.poll(() => frameSeen(theirs)).toBe(frameAt(2.5 + 1.2));
  expect(await theirs.locator('text=Where the snap is').count()).toBe(0);
  await look('observer', theirs);
}, 120_000);

test('a link that leads to no film says so', async () => {
  await page.goto(`${address}/games/${game.gameId}/films`);
  await page.fill('#field-linkAngle', 'Broadcast');
  await page.fill('#field-link', 'https://film.invalid/a.mp4');
  await page.click('text=Add the link');
  await page.waitForSelector('h2:has-text("Broadcast")');
  await page.click('a:has-text("in Broadcast")');
  await page.waitForSelector('[data-fault]:has-text("This link cannot be played here")');
}, 120_000);
