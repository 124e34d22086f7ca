// @module-tag rest
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { ffmpeg, run, toneAt } from '../narration/sounds.ts';
import { type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { filmedProgram, filmOfGame } from '../reels/filmed-program.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, launchWithoutMicrophone, signIn } from './support/chromium.ts';

// A narration recorded in the browser, from a microphone of Chromium's own that beeps, and heard in the reel.

let database: TestDatabase;
let app: FastifyInstance;
let browser: Browser;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let data: string;
let program: string;
let cutAddress: string;
let clip: string;

beforeAll(async () => {
  data = await folderInRun('narration');
  database = await testDatabase();
  app = await testApp(database, { DATA_DIR: data });
  const address = await app.listen({ port: 0, host: '127.0.0.1' });
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, { conferenceId: season.conferenceId, personId: season.coordinatorId });
  await filmOfGame(database.pool, season, data);
  const programId = await filmedProgram(coordinator, season);
  program = `/api/training-programs/${programId}`;
  // One play, so that its reel is soon made.
  for (const other of [4, 5])
    await coordinator.delete(`${program}/plays/${season.playIds[other]}`).expect(200);
  cutAddress = `${program}/plays/${season.playIds[0]}/cut`;
  clip = `${address}/training/programs/${programId}/plays/${season.playIds[0]}/clip`;
  browser = await launchChromium();
}, 240_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function opened(inBrowser = browser): Promise<{ device: BrowserContext; page: Page }> {
  const device = await inBrowser.newContext({ viewport: { width: 1280, height: 900 } });
  const { conferenceId, coordinatorId: personId } = season;
  await signIn(device, new URL(clip).origin, await startSession(database.pool, { conferenceId, personId }));
  const page = await device.newPage();
  page.on('dialog', (dialog) => void dialog.accept());
  await page.goto(clip);
  await page.waitForSelector('#clip-editor[data-ready]');
  return { device, page };
}
const pictures = process.env.PICTURES;
async function look(page: Page, name: string) {
  for (const width of [820, 1280]) {
    await page.setViewportSize({ width, height: 900 });
    const [inside, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    expect([name, width, inside! <= room!]).toEqual([name, width, true]);
    if (pictures)
      await page.screenshot({ path: path.join(pictures, `${name}-${width}.png`), fullPage: true });
  }
}
const kept = async () => (await coordinator.get(cutAddress).expect(200)).body;
const press = (page: Page, name: string) => page.click(`#clip-editor button:text-is("${name}")`);
const saved = (page: Page) => page.waitForSelector('[data-cut-state]:has-text("Saved")');
/** The loudest of a file, in dB of full scale, as ffmpeg reads it. */
async function loudest(file: string, ...more: string[]): Promise<number> {
  const { stderr } = await run('ffmpeg', [
    ...['-nostdin', ...more, '-i', file, '-map', '0:a', '-af', 'volumedetect', '-f', 'null', '-'],
  ]);
  return Number(/max_volume: (-?[\d.]+) dB/.exec(stderr)![1]);
}

test('a narration is counted in, recorded, listened to, kept though the connection was away, and heard in the reel', async () => {
  const { device, page } = await opened();
  expect(await page.textContent('[aria-labelledby=clip-voice]')).toContain('Nobody: captions show');
  await page.focus('.clip-stage');
  await page.keyboard.press('r');
  await page.waitForSelector('.clip-count');
  await page.waitForSelector('text=It hears you.');
  await look(page, 'narration-recording');
  await page.focus('.clip-stage');
  await page.keyboard.press('r');
  await page.waitForSelector('audio[aria-label^="What you recorded"]');
  expect((await kept()).recordings).toEqual([]);
  await look(page, 'narration-listen');
  expect(await accessibilityProblems(page)).toEqual([]);

  await device.setOffline(true);
  await press(page, 'Keep it');
  await page.waitForSelector('[data-voice-state]:has-text("Not saved: There is no connection")');
  await look(page, 'narration-not-sent');
  await device.setOffline(false);
  await page.waitForSelector('[data-fit]');
  await saved(page);
  const { cut, recordings } = await kept();
  expect(cut.voice).toEqual({ kind: 'recorded', recordingId: recordings[0].id });
  expect(recordings).toHaveLength(1);
  const file = path.join(data, 'films', season.conferenceId, 'narration', `${recordings[0].id}.flac`);
  expect(await loudest(file)).toBeGreaterThan(-30);
  await look(page, 'narration-kept');
  expect(await accessibilityProblems(page)).toEqual([]);

  await press(page, 'Take the recording off');
  await page.waitForSelector('text=Nobody: captions show');
  await saved(page);
  expect((await kept()).cut.voice).toBeNull();
  await press(page, 'Take back');
  await page.waitForSelector('[data-fit]');
  await saved(page);
  expect((await kept()).cut.voice).toEqual(cut.voice);

  const { body } = await coordinator.post(`${program}/reels`).send({}).expect(201);
  await app.reels.idle();
  const reel = (await coordinator.get(`${program}/reels/${body.id}`).expect(200)).body;
  const { frame, frames } = reel.facts.plays[0];
  const [from, length] = [frame, frames].map((one: number) => String((one * 1001) / 30_000));
  const made = path.join(data, 'reels', season.conferenceId, `${body.id}.mp4`);
  expect(await loudest(made, '-ss', from!, '-t', length!)).toBeGreaterThan(-30);
  await device.close();
}, 300_000);

test('without a microphone a sentence says so; a sound file does, and waits on the device', async () => {
  const other = await launchWithoutMicrophone();
  const { page } = await opened(other);
  await page.click('[aria-labelledby=clip-voice] button:has-text("Record it")');
  await page.waitForSelector('[role=alert]:has-text("may not use the microphone")');
  const file = path.join(data, 'mine.wav');
  await ffmpeg(...toneAt(2, 1), file);
  await page.setInputFiles('.clip-file input', file);
  await page.waitForSelector('text=A file that is not kept yet.');
  await page.reload();
  await page.waitForSelector('text=A file that is not kept yet.');
  const before = (await kept()).recordings.length;
  await press(page, 'Keep it');
  await page.waitForSelector('[data-fit]:has-text("2.0 seconds")');
  await saved(page);
  const { cut, recordings } = await kept();
  expect(recordings).toHaveLength(before + 1);
  expect(cut.voice.recordingId).toBe(recordings[0].id);
  // The device lets go of what the server has.
  await page.reload();
  await page.waitForSelector('[data-fit]:has-text("2.0 seconds")');
  const nothing = path.join(data, 'words.wav');
  await run('sh', ['-c', `echo only words > ${nothing}`]);
  await page.setInputFiles('.clip-file input', nothing);
  await press(page, 'Keep it');
  await page.waitForSelector(
    '[data-voice-state]:has-text("Not saved: This is not a sound that can be read")',
  );
  await look(page, 'narration-refused');
  await press(page, 'Throw it away');
  await page.waitForSelector('[data-fit]:has-text("2.0 seconds")');
  await other.close();
}, 300_000);
