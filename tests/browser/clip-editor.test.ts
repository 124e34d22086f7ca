// @module-tag rest
import { execFile } from 'node:child_process';
import path from 'node:path';
import { promisify } from 'node:util';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { bringFilm } from '../films/bring.ts';
import { frames, makeFilms, rate } from '../films/made-films.ts';
import { frame, type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// From two uploaded films to a play that is cut, in the browser. The films' frames show their own numbers, so that the
// picture itself tells which frame is seen; ffprobe tells which tick that frame has.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let device: BrowserContext;
let page: Page;
let clip: string;
let cutAddress: string;
let ticks: number[];

beforeAll(async () => {
  const at = await makeFilms(await folderInRun('films'));
  database = await testDatabase();
  app = await testApp(database, { FILM_STORE: await folderInRun('store') });
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  season = await taughtSeason(database.pool);
  const { conferenceId, coordinatorId: personId } = season;
  coordinator = await inSessionOf(app, { conferenceId, personId });
  const wide = await bringFilm(app, coordinator, season.gameId, at('ordinary.mp4'), 'Sideline');
  const end = await bringFilm(app, coordinator, season.gameId, at('silent.mp4'), 'End zone');
  const { stdout } = await promisify(execFile)('ffprobe', [
    ...['-v', 'error', '-select_streams', 'v:0', '-show_entries', 'frame=pts', '-of', 'csv=p=0'],
    at('ordinary.mp4'),
  ]);
  ticks = stdout.trim().split(/\s+/).map(Number.parseFloat);
  const [playId, second] = season.playIds as [string, string];
  const mark = (film: { id: string }, play: string, seconds: number) =>
    coordinator
      .put(`/api/games/${season.gameId}/films/${film.id}/marks/${play}`)
      .send({ seconds })
      .expect(204);
  await mark(wide, playId, 3);
  await mark(wide, second, 4.5);
  await mark(end, playId, 2);
  const opened = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send(frame)
    .expect(201);
  const program = opened.body.id as string;
  for (const play of [playId, second])
    await coordinator
      .post(`/api/training-programs/${program}/plays`)
      .send({ playId: play, dutyKey: 'everybodys-duty', position: 'umpire', showing: 'bad' })
      .expect(201);
  clip = `/training/programs/${program}/plays/${playId}/clip`;
  cutAddress = `/api/training-programs/${program}/plays/${playId}/cut`;
  browser = await launchChromium();
  device = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  await signIn(device, address, await startSession(database.pool, { conferenceId, personId }));
  page = await device.newPage();
  page.on('dialog', (dialog) => void dialog.accept());
}, 240_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

const pictures = process.env.PICTURES;
async function look(name: string) {
  for (const width of [1280, 820]) {
    await page.setViewportSize({ width, height: 900 });
    const [inside, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    expect([name, width, inside! <= room!]).toEqual([name, width, true]);
    if (pictures)
      await page.screenshot({ path: path.join(pictures, `${name}-${width}.png`), fullPage: true });
  }
  await page.setViewportSize({ width: 1280, height: 900 });
  expect([name, await accessibilityProblems(page)]).toEqual([name, []]);
}

/** The number that the picture shows, once the player stands still. */
const frameSeen = () =>
  page.evaluate(async () => {
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
const press = (name: string) => page.click(`#clip-editor button:text-is("${name}")`);
const keep = () => page.waitForSelector('[data-cut-state]:has-text("Saved")');
const kept = async () => (await coordinator.get(cutAddress).expect(200)).body;
/** Stands at that frame, by the slider's own steps and the picture. */
async function goTo(number: number) {
  for (let tries = 0; tries < 400; tries++) {
    const seen = await frameSeen();
    if (seen === number) return;
    const by = number - seen;
    await page.focus('.clip-stage');
    await page.keyboard.press(
      Math.abs(by) >= 30
        ? by > 0
          ? 'Shift+ArrowRight'
          : 'Shift+ArrowLeft'
        : by > 0
          ? 'ArrowRight'
          : 'ArrowLeft',
    );
    await page.waitForTimeout(30);
  }
  throw new Error(`frame ${number} was not reached`);
}

test('a play is cut from two angles, with a freeze, a slow repeat and a pointer, and all is kept', async () => {
  const editor = (await coordinator.get(clip.replace('/clip', '')).expect(200)).text;
  expect(editor).toContain('Cut its film');
  await page.goto(address + clip);
  await page.waitForSelector('#clip-editor[data-ready]');
  // The default cut has six seconds before the snap at 3 s: from the film's begin on.
  await expect.poll(frameSeen).toBe(0);
  expect((await kept()).isKept).toBe(false);

  await goTo(61);
  await press('Frame on');
  await expect.poll(frameSeen).toBe(62);
  await page.click('.clip-time');
  await press('Set in here');
  await goTo(119);
  await page.focus('.clip-stage');
  await page.keyboard.press('o');
  await keep();
  let now = await kept();
  // Real frames of the film: its first is seen, the frame after the last is not shown any more.
  expect([now.cut.shots[0].from, now.cut.shots[0].to]).toEqual([ticks[62], ticks[120]]);

  await goTo(90);
  await press('Freeze here');
  await press('Circle');
  const circle = page.locator('[aria-label^="Circle 1"][role=button]');
  const box = (await circle.boundingBox())!;
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width / 2 + 90, box.y + box.height / 2 - 20, { steps: 5 });
  await page.mouse.up();
  await circle.focus();
  await page.keyboard.press('+');
  await page.keyboard.press('ArrowUp');
  await look('clip-pointer');
  await keep();
  now = await kept();
  const [pointer] = now.cut.shots[0].pointers;
  expect(pointer).toMatchObject({ shape: 'circle', from: ticks[90] });
  expect(pointer.x).toBeGreaterThan(0.55);
  expect(pointer.y).toBeLessThan(0.5);
  expect(now.cut.shots[0].freezes).toEqual([{ at: ticks[90], seconds: 2 }]);

  // A scoreboard is covered from the shot's first frame to its last.
  await press('Cover');
  await page.locator('[aria-label^="Cover 2, its other corner"]').focus();
  await page.keyboard.press('ArrowRight');
  await look('clip-cover');
  await keep();
  now = await kept();
  expect(now.cut.shots[0].pointers[1]).toMatchObject({
    ...{ shape: 'cover', from: ticks[62], to: ticks[120], tailX: 0.71 },
  });

  await press('Repeat shot 1 slowly');
  await press('Add it from End zone');
  await expect.poll(async () => await page.locator('.clip-shots li').count()).toBe(3);
  await keep();
  now = await kept();
  expect(now.cut.shots[1]).toMatchObject({ slow: 2, from: ticks[62], to: ticks[120], muted: true });
  // The same moment: in that film the snap is a second earlier.
  const third = now.cut.shots[2];
  const second = (tick: number) => (tick * third.timebase.numerator) / third.timebase.denominator;
  expect(Math.abs(second(third.from) - (62 / rate - 1))).toBeLessThan(1 / rate);
  expect(third.to - third.from).toBe(ticks[120]! - ticks[62]!);

  // Taken back step by step, and made again.
  await press('Take back');
  await expect.poll(() => page.locator('.clip-shots li').count()).toBe(2);
  await press('Take back');
  await expect.poll(() => page.locator('.clip-shots li').count()).toBe(1);
  await page.focus('.clip-stage');
  await page.keyboard.press('Control+Shift+z');
  await page.keyboard.press('Control+Shift+z');
  await expect.poll(() => page.locator('.clip-shots li').count()).toBe(3);
  await keep();
  const before = await kept();
  expect(before.cut).toEqual(now.cut);

  await page.reload();
  await page.waitForSelector('#clip-editor[data-ready]');
  await expect.poll(() => page.locator('.clip-shots li').count()).toBe(3);
  await expect.poll(frameSeen).toBe(62);
  await expect.poll(() => page.locator('.clip-marks li').count()).toBe(3);
  await look('clip');
  expect(frames).toBe(180);
}, 300_000);

test('the preview stops for the question, and plays on', async () => {
  await page.fill('#field-question', 'Where should the umpire look?');
  await page.fill('#choice-1', 'At the players');
  await page.check('input[name=right1]');
  await page.fill('#choice-2', 'At the ball');
  await page.waitForSelector('[data-card-state]:has-text("Card: Saved")');
  await page.selectOption('#clip-question', '1');
  await keep();
  await press('Play as cut');
  await page.waitForSelector('.clip-asks:has-text("Where should the umpire look?")', { timeout: 120_000 });
  // It stopped at the end of the first shot, and nothing of the second is seen yet.
  expect(await frameSeen()).toBeLessThanOrEqual(121);
  await look('clip-question');
  await page.click('.clip-asks button');
  await page.waitForSelector('.clip-shots li.chosen:nth-child(3)', { timeout: 120_000 });
  await page.waitForSelector('button:text-is("Play as cut")', { timeout: 120_000 });
}, 300_000);

test('two people on one clip: both cuts are shown, and one is chosen', async () => {
  const { agent: colleague } = await personSignedIn(app, season.conferenceId, ['coordinator']);
  const now = await kept();
  const theirs = { ...now.cut, shots: [now.cut.shots[0]], questionAfter: null };
  await colleague.put(cutAddress).send({ cut: theirs, version: now.version }).expect(200);
  // The preview ended with the last shot before one's eyes.
  await page.click('.clip-shots li:first-child .clip-shot');
  await page.selectOption('#clip-slow', '3');
  await page.waitForSelector('h2:text-is("Cut by two people")');
  expect(await page.textContent('[aria-labelledby=clip-both]')).toMatch(/Yours[\s\S]*Shot 3[\s\S]*By /);
  await look('clip-two-people');
  await page.click('button:text-is("Keep mine")');
  await keep();
  const mine = await kept();
  expect(mine.cut.shots).toHaveLength(3);
  expect(mine.cut.shots[0].slow).toBe(3);

  await colleague.put(cutAddress).send({ cut: theirs, version: mine.version }).expect(200);
  await page.selectOption('#clip-slow', '4');
  await page.click('button:text-is("Take theirs")');
  await expect.poll(() => page.locator('.clip-shots li').count()).toBe(1);
  expect((await kept()).cut).toEqual(theirs);

  // The card likewise.
  const program = cutAddress.split('/plays/')[0]!;
  const [own] = (await coordinator.get(program)).body.plays;
  const { playId, version, ...card } = own;
  await colleague
    .put(`${program}/plays/${playId}`)
    .send({ card: { ...card, firstKey: 'Theirs' }, version })
    .expect(200);
  await page.fill('#field-firstKey', 'Mine');
  await page.waitForSelector('text=Theirs: Theirs');
  await page.click('button:text-is("Keep mine")');
  await page.waitForSelector('[data-card-state]:has-text("Card: Saved")');
  expect((await coordinator.get(program)).body.plays[0].firstKey).toBe('Mine');
}, 300_000);

test('offline it says so, and keeps the change when the connection is back', async () => {
  await device.setOffline(true);
  await page.selectOption('#clip-slow', '2');
  await page.waitForSelector('[data-cut-state]:has-text("Not saved: There is no connection")');
  await device.setOffline(false);
  await keep();
  expect((await kept()).cut.shots[0].slow).toBe(2);
}, 120_000);

test('what one person cut is never kept as that of another, who signed in in the same browser; it waits for them', async () => {
  const before = await kept();
  const { personId } = await personSignedIn(app, season.conferenceId, ['coordinator']);
  await signIn(device, address, await startSession(database.pool, { ...season, personId }));
  await page.selectOption('#clip-slow', '6');
  await page.fill('#field-firstKey', 'Written by the first');
  await page.waitForSelector('[data-cut-state]:has-text("Not saved: You are no longer signed in")');
  await page.waitForSelector('[data-card-state]:has-text("Not saved: You are no longer signed in")');
  expect(await kept()).toEqual(before);

  const personIdOfPage = season.coordinatorId;
  await signIn(device, address, await startSession(database.pool, { ...season, personId: personIdOfPage }));
  await keep();
  await page.waitForSelector('[data-card-state]:has-text("Card: Saved")');
  const { rows } = await database.pool.query('SELECT changed_by FROM training_cut');
  expect([(await kept()).cut.shots[0].slow, rows]).toEqual([6, [{ changed_by: personIdOfPage }]]);
}, 120_000);

test('signed in again in another tab, it is kept from there on; going back to the default leaves nothing waiting', async () => {
  const person = { conferenceId: season.conferenceId, personId: season.coordinatorId };
  await signIn(device, address, await startSession(database.pool, person));
  await page.selectOption('#clip-slow', '3');
  await keep();
  expect((await kept()).cut.shots[0].slow).toBe(3);

  await device.setOffline(true);
  await page.selectOption('#clip-slow', '4');
  await page.waitForSelector('[data-cut-state]:has-text("Not saved: There is no connection")');
  // The change cannot be sent, the wish to go back can.
  await page.route('**/cut', (route) =>
    route.request().method() === 'PUT' ? route.abort() : route.continue(),
  );
  await device.setOffline(false);
  await page.getByRole('button', { name: 'Back to the default cut' }).click();
  await page.waitForSelector('[data-cut-state]:text-matches("^Saved ·")');
  await page.unroute('**/cut');
  // Longer than a change that waits is tried again.
  await page.waitForTimeout(6000);
  expect(await kept()).toMatchObject({ isKept: false });
}, 120_000);
