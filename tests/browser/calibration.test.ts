// @module-tag rest
import { copyFile, mkdir } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { filmOfGame } from '../calibration/film-of-game.ts';
import { makeFilms } from '../films/made-films.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { personSignedIn } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// A coordinator asks four observers to mark two clips; one of them does it on a telephone, blind to the others; the
// coordinator reads how they agree on a tablet.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let game: OneGame;
let observers: string[];
beforeAll(async () => {
  const folder = await folderInRun('films');
  const at = await makeFilms(folder);
  const store = await folderInRun('store');
  database = await testDatabase();
  app = await testApp(database, { FILM_STORE: store });
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  game = await oneGame(database.pool, 8);
  const film = await filmOfGame(database.pool, game);
  await mkdir(path.join(store, game.conferenceId), { recursive: true });
  await copyFile(at('ordinary.mp4'), path.join(store, game.conferenceId, film));
  const more = [];
  for (let i = 0; i < 2; i++)
    more.push((await personSignedIn(app, game.conferenceId, ['observer'])).personId);
  observers = [game.observerId, game.secondObserverId, ...more];
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function pageOf(personId: string, width: number): Promise<Page> {
  const device = await browser.newContext({ viewport: { width, height: 900 } });
  await signIn(
    device,
    address,
    await startSession(database.pool, { conferenceId: game.conferenceId, personId }),
  );
  return device.newPage();
}

const pictures = process.env.PICTURES;
async function look(page: Page, name: string) {
  const [inside, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  expect([name, inside! <= room!]).toEqual([name, true]);
  if (pictures) await page.screenshot({ path: path.join(pictures, `${name}.png`), fullPage: true });
  expect([name, await accessibilityProblems(page)]).toEqual([name, []]);
}

test('clips are marked blind on a telephone, and agreement is read on a tablet', async () => {
  const desk = await pageOf(game.coordinatorId, 820);
  await desk.goto(`${address}/seasons/${game.seasonId}/training`);
  await desk.click('a:text-is("Calibration of observers")');
  await desk.fill('#field-title', 'August clips');
  await desk.click('button:text-is("Make it")');
  for (const number of ['3', '4']) {
    await desk.fill('#number', number);
    await desk.selectOption('#position', 'umpire');
    await desk.click('button:text-is("Put it in")');
  }
  await look(desk, 'calibration-draft-820');
  await desk.click('button:text-is("Open it and tell them")');
  const set = new URL(desk.url()).pathname;

  for (const [at, observer] of observers.entries()) {
    const phone = await pageOf(observer, 390);
    await phone.goto(`${address}/messages`);
    await phone.click('main a:has-text("August clips")');
    await phone.click('a:text-is("Mark them")');
    if (at === 0) await look(phone, 'calibration-overview-390');
    await phone.click('text="Mark clip 1"');
    if (at === 0) {
      // The clip begins and ends where its play does: play 3 has its snap at 1.5 seconds.
      const source = await phone.getAttribute('video', 'src');
      expect(source).toMatch(/#t=0\.00,6\.0\d$/);
      await phone.waitForFunction(() => document.querySelector('video')!.readyState >= 1);
      expect(await phone.evaluate(() => document.querySelector('video')!.duration)).toBeCloseTo(6, 0);
      await look(phone, 'calibration-clip-390');
      await phone.click('button:text-is("Keep and go on")');
      await phone.waitForSelector('text=Not kept yet');
      await look(phone, 'calibration-clip-wrong-390');
    }
    for (const clip of [1, 2]) {
      await phone.waitForSelector(`h1:has-text("Clip ${clip} of 2")`);
      for (const item of await phone.$$('.clip-item')) {
        const finding = clip === 1 && at < 2 ? 'not met' : 'met';
        await (await item.$(`input[value="${finding}"]`))!.check();
      }
      await phone.click('button:text-is("Keep and go on")');
    }
    await phone.click('button:text-is("Hand in")');
    await phone.waitForSelector('text=You handed your marks in');
    expect(await phone.textContent('main')).not.toContain('done or right');
    await phone.context().close();
  }

  await desk.goto(`${address}${set}`);
  await look(desk, 'calibration-open-820');
  await desk.click('button:text-is("Close and show the panel")');
  await desk.waitForSelector('text=observers split 2 to 2');
  await look(desk, 'calibration-closed-820');
  const phone = await pageOf(observers[0]!, 390);
  await phone.goto(`${address}/my/calibration`);
  await phone.click('text="See how the panel marked"');
  await phone.waitForSelector('text=2 done or right, 2 not');
  await look(phone, 'calibration-panel-390');
  await desk.click('button:text-is("Open a program for observers") >> nth=0');
  await desk.waitForSelector('h1:has-text("Seen alike")');
}, 240_000);
