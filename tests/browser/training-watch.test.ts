// @module-tag rest
import { execFile } from 'node:child_process';
import { mkdir } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { programToWatch, type Released } from '../watching/released-program.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// A reel of twelve seconds at a telephone's width, made by ffmpeg: what the player does is held against what the server
// counts, and against the video element itself.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let program: Released;
const rate = 30_000 / 1001;
const frames = 360;
const stopAt = 90;
const lastStop = 300;

beforeAll(async () => {
  database = await testDatabase();
  const DATA_DIR = await folderInRun('watching');
  app = await testApp(database, { DATA_DIR });
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  program = await programToWatch(app);
  await program.release();
  const { rows } = await database.pool.query(
    `INSERT INTO reel (conference_id, program_id, edition_number, plan, state, facts)
     VALUES ($1, $2, 1, '{}', 'ready', $3) RETURNING id`,
    [
      program.season.conferenceId,
      program.programId,
      JSON.stringify({
        frames,
        seconds: frames / rate,
        chapters: [{ title: 'Eyes on players', frame: 0 }],
        plays: [
          { number: 1, frame: 0, frames: 120 },
          { number: 2, frame: 120, frames: 120 },
          { number: 3, frame: 240, frames: 120 },
        ],
        questions: [
          { number: 1, frame: stopAt },
          { number: 3, frame: lastStop },
        ],
        hasSound: false,
      }),
    ],
  );
  const folder = path.join(DATA_DIR, 'reels', program.season.conferenceId);
  await mkdir(folder, { recursive: true });
  await promisify(execFile)('ffmpeg', [
    ...[
      '-v',
      'error',
      '-f',
      'lavfi',
      '-i',
      `testsrc2=size=640x360:rate=30000/1001`,
      '-frames:v',
      String(frames),
    ],
    ...[
      '-c:v',
      'libx264',
      '-preset',
      'ultrafast',
      '-g',
      '30',
      '-pix_fmt',
      'yuv420p',
      '-movflags',
      '+faststart',
    ],
    path.join(folder, `${rows[0].id}.mp4`),
  ]);
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

const at = () => `${address}/my/training/${program.programId}/editions/1`;
async function device(personId: string): Promise<{ context: BrowserContext; page: Page }> {
  const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
  const { conferenceId } = program.season;
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
  const page = await context.newPage();
  return { context, page };
}
const viewer = async (personId: string) =>
  (
    await database.pool.query('SELECT * FROM training_viewer WHERE program_id = $1 AND person_id = $2', [
      program.programId,
      personId,
    ])
  ).rows[0];
const time = (page: Page) => page.evaluate(() => document.querySelector('video')!.currentTime);
const ready = (page: Page) => page.waitForFunction(() => document.querySelector('video')!.readyState >= 2);
const play = (page: Page) => page.evaluate(() => document.querySelector('video')!.play());
const seen = (stretches: [number, number][]) => stretches.reduce((sum, [from, to]) => sum + to - from, 0);
const pictures = process.env.PICTURES;
const picture = async (page: Page, name: string) => {
  if (pictures) await page.screenshot({ path: path.join(pictures, `${name}.png`), fullPage: true });
};

test('the reel stops before the frame of a question, goes on after the answer, and is counted when all is done', async () => {
  const umpire = program.season.crew.umpire!;
  const { context, page } = await device(umpire);
  await page.goto(at());
  await picture(page, 'notice-390');
  await page.click('button:text-is("I read this and keep to it")');
  await ready(page);
  await page.waitForFunction(() => document.querySelector('video')!.textTracks[0]!.mode === 'showing');
  await play(page);
  await page.waitForSelector('form[data-play="1"]:visible');
  await page.waitForFunction(() => document.querySelector('video')!.paused);
  const stopped = await time(page);
  // Frames are counted from 0 and shown from their own time on.
  expect(Math.floor(stopped * rate + 1e-6)).toBe(stopAt - 1);
  await picture(page, 'question-390');
  expect(await accessibilityProblems(page)).toEqual([]);
  // It cannot be played on, nor passed by.
  await play(page).catch(() => {});
  await page.evaluate(() => {
    document.querySelector('video')!.currentTime = 11;
  });
  await page.waitForFunction(() => document.querySelector('video')!.currentTime < 3.1);
  expect(await page.evaluate(() => document.querySelector('video')!.paused)).toBe(true);

  // Reloaded, and on a second device, it goes on there, with the question.
  await page.waitForFunction(() => document.querySelector('[data-share]')!.textContent !== '0 %');
  await page.reload();
  await ready(page);
  await page.waitForFunction(() => document.querySelector('video')!.currentTime > 2.5);
  const other = await device(umpire);
  await other.page.goto(at());
  await ready(other.page);
  await other.page.waitForFunction(() => document.querySelector('video')!.currentTime > 2.5);
  await other.context.close();

  // By keyboard: arrows choose, Enter answers. The connection is away at first, and nothing is lost.
  await play(page).catch(() => {});
  await page.waitForSelector('form[data-play="1"]:visible');
  await page.focus('form[data-play="1"] input');
  await page.keyboard.press('ArrowDown');
  await context.setOffline(true);
  await page.keyboard.press('Enter');
  await page.waitForSelector('[data-away]:visible');
  expect((await database.pool.query('SELECT FROM training_answer')).rowCount).toBe(0);
  await context.setOffline(false);
  await page.waitForSelector('[data-told]:visible', { timeout: 20_000 });
  expect(await page.textContent('[data-told]')).toContain('Two ways are acceptable');
  expect(await page.textContent('[data-told]')).toContain('Feet still');
  await picture(page, 'told-390');
  await page.click('button:text-is("Go on")');
  await page.waitForSelector('form[data-play="3"]:visible', { timeout: 30_000 });
  expect(Math.floor((await time(page)) * rate + 1e-6)).toBe(lastStop - 1);
  expect((await viewer(umpire)).done_at).toBeNull();
  await page.click('form[data-play="3"] label:nth-of-type(1)');
  await page.click('form[data-play="3"] button');
  await page.click('button:text-is("Go on")');
  await page.waitForFunction(() => document.querySelector('video')!.ended, undefined, { timeout: 20_000 });
  await expect.poll(async () => (await viewer(umpire)).done_at, { timeout: 15_000 }).not.toBeNull();
  expect(seen((await viewer(umpire)).stretches)).toBeGreaterThanOrEqual(0.9 * (frames / rate - 0.5));
  await page.reload();
  expect(await page.textContent('main')).toContain('You watched it');
  await picture(page, 'done-390');
  for (const width of [390, 820, 1280]) {
    await page.setViewportSize({ width, height: 900 });
    const [inside, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    expect([width, inside! <= room!]).toEqual([width, true]);
  }
  await context.close();
}, 120_000);

test('a page left open counts nothing, what is passed over does not count, and nobody is faster than time', async () => {
  const referee = program.season.crew.referee!;
  const { context, page } = await device(referee);
  await page.goto(at());
  await page.click('button:text-is("I read this and keep to it")');
  await ready(page);
  // What the page sends while it stands still.
  await expect.poll(async () => (await viewer(referee)).opened_at, { timeout: 15_000 }).not.toBeNull();
  await page.waitForTimeout(6000);
  expect((await viewer(referee)).stretches).toEqual([]);
  // From the beginning to 2.2 s without playing, then a second of play.
  await page.evaluate(() => {
    document.querySelector('video')!.currentTime = 1.2;
  });
  await play(page);
  await page.waitForFunction(() => document.querySelector('video')!.currentTime > 2.2);
  await page.evaluate(() => document.querySelector('video')!.pause());
  await expect
    .poll(async () => seen((await viewer(referee)).stretches), { timeout: 15_000 })
    .toBeGreaterThan(0.8);
  const { stretches } = await viewer(referee);
  expect(stretches[0][0]).toBeGreaterThan(1.1);
  await context.close();

  // Said at once after opening, the whole reel is not counted: by hand, as no player does it.
  const line = await program.as(program.season.crew['line judge']!);
  const own = `/api/my/training/${program.programId}/editions/1`;
  await line.post(`${own}/notice`).expect(204);
  await line
    .post(`${own}/watched`)
    .send({ stretches: [[0, 12]] })
    .expect(200);
  const { body } = await line
    .post(`${own}/watched`)
    .send({ stretches: [[0, 12]] })
    .expect(200);
  expect(body.share).toBeLessThan(0.5);
  expect(body.isDone).toBe(false);
}, 90_000);

test('on a shared device nobody answers or watches in the name of who signed in after them', async () => {
  const { 'field judge': first, 'back judge': next } = program.season.crew;
  const { context, page } = await device(first!);
  await page.goto(at());
  await page.click('button:text-is("I read this and keep to it")');
  await ready(page);
  await play(page);
  await page.waitForSelector('form[data-play="1"]:visible');

  const { conferenceId } = program.season;
  const colleague = await program.as(next!);
  await colleague.post(`/api/my/training/${program.programId}/editions/1/notice`).expect(204);
  const others = await startSession(database.pool, { conferenceId, personId: next! });
  await signIn(context, address, others);
  await page.click('form[data-play="1"] label:nth-of-type(1)');
  await page.click('form[data-play="1"] button');
  await page.waitForSelector('form[data-play="1"] [data-wrong]:visible');
  expect(await page.textContent('form[data-play="1"] [data-wrong]')).toMatch(
    /^Somebody else is signed in in this browser now/,
  );
  const answersOf = async (personId: string) =>
    (await database.pool.query('SELECT FROM training_answer WHERE person_id = $1', [personId])).rowCount;
  expect([await answersOf(first!), await answersOf(next!)]).toEqual([0, 0]);
  expect((await viewer(next!)).stretches).toEqual([]);

  await signIn(context, address, await startSession(database.pool, { conferenceId, personId: first! }));
  await page.click('form[data-play="1"] button');
  await page.waitForSelector('[data-told]:visible');
  expect([await answersOf(first!), await answersOf(next!)]).toEqual([1, 0]);
  await context.close();
}, 60_000);

test('the file comes in ranges, to the audience alone, once they confirmed; captions do not give the answer away', async () => {
  const umpire = await program.as(program.season.crew.umpire!);
  const reel = `/my/training/${program.programId}/editions/1/reel.mp4`;
  const part = await umpire.get(reel).set('range', 'bytes=0-99').expect(206);
  expect(part.headers['content-range']).toMatch(/^bytes 0-99\/\d+$/);
  const side = await program.as(program.season.crew['side judge']!);
  await side.get(reel).expect(409);
  await program.coordinator.get(reel).expect(404);
  const captions = (await umpire.get(reel.replace('reel.mp4', 'captions.vtt')).expect(200)).text;
  expect(captions).toMatch(/^WEBVTT\n/);
  // The first play's narration begins after its question, at frame 90: 3.003 s.
  expect(captions).toMatch(/00:00:03\.003 --> /);
});
