// @module-tag rest
import { execFile } from 'node:child_process';
import { readdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { largeFilm } from '../films/made-films.ts';
import { type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { makeNumberedFilm } from '../reels/numbered-films.ts';
import { makePerson } from '../support/people.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import { ServerProcess } from './support/server-process.ts';

// A program from nothing to watched, by its pages: the film comes through a cut connection, the server is killed twice
// while the reel is made, and an official watches it on a telephone. Nobody's name is in anything that they are given.

const run = promisify(execFile);
let database: TestDatabase;
let server: ServerProcess;
let browser: Browser;
let season: TaughtSeason;
let data: string;
let film: string;
let desk: Page;
let program: string;
/** What no output may say: who officiated, which crew and teams, and what the film's file tells. */
const names = ['Zandervort', 'Quillhaven', 'Brackmoor', 'Thistlecombe', 'Fernhollow', 'Wexcliffe'];

beforeAll(async () => {
  data = await folderInRun('data');
  database = await testDatabase();
  season = await taughtSeason(database.pool);
  await nameEverything();
  server = await ServerProcess.start(database.url, { DATA_DIR: data });
  browser = await launchChromium();
  const folder = await folderInRun('films');
  const numbered = path.join(folder, 'numbered.mp4');
  await makeNumberedFilm(numbered);
  const titled = path.join(folder, 'titled.mp4');
  await run('ffmpeg', [
    ...['-nostdin', '-v', 'error', '-i', numbered, '-c', 'copy', '-metadata', `title=${names[5]}`],
    ...['-metadata:s:v:0', `title=${names[5]}`, '-movflags', '+faststart', titled],
  ]);
  film = path.join(folder, `${names[5]} wide.mp4`);
  await writeFile(film, await largeFilm(titled, 40_000_000));
  desk = await pageOf(season.coordinatorId, 1280);
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await server?.kill();
  await database?.drop();
});

/** Names that stand in no text by chance, and plays of the log two seconds apart. */
async function nameEverything(): Promise<void> {
  const { conferenceId, crew } = season;
  const change = (sql: string, ...values: unknown[]) => database.pool.query(sql, [conferenceId, ...values]);
  await change(
    'UPDATE person SET given_name = $2, family_name = $3 WHERE conference_id = $1 AND id = ANY($4)',
    ...[...[names[0], names[1], Object.values(crew)]],
  );
  await change(
    "UPDATE team SET name = CASE name WHEN 'Home' THEN $2 ELSE $3 END WHERE conference_id = $1",
    ...[...[names[2], names[3]]],
  );
  await change('UPDATE play SET film_seconds = 2 * number WHERE conference_id = $1');
}

async function pageOf(personId: string, width: number): Promise<Page> {
  const device = await browser.newContext({ viewport: { width, height: 844 } });
  const { conferenceId } = season;
  await signIn(device, server.address, await startSession(database.pool, { conferenceId, personId }));
  const page = await device.newPage();
  page.on('dialog', (dialog) => void dialog.accept());
  return page;
}
const open = (page: Page, place: string) => page.goto(new URL(place, server.address).href);
const press = (page: Page, name: string) => page.click(`main button:text-is("${name}")`);
const follow = (page: Page, name: string) => page.click(`main a:text-is("${name}")`);

const pictures = process.env.PICTURES;
/** The page fits, axe finds nothing, and somebody may look at it (PICTURES=folder). */
async function look(page: Page, name: string): Promise<void> {
  const [inside, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  expect([name, inside! <= room!]).toEqual([name, true]);
  if (pictures) await page.screenshot({ path: path.join(pictures, `${name}.png`), fullPage: true });
  expect([name, await accessibilityProblems(page)]).toEqual([name, []]);
}

interface ReelRow {
  state: string;
  attempts: number;
  underway: boolean;
  progress: number;
}
const newestReel = async () =>
  (
    await database.pool.query<ReelRow>(
      `SELECT state, attempts, progress, in_hand_of IS NOT NULL AS underway FROM reel
        WHERE conference_id = $1 ORDER BY asked_at DESC LIMIT 1`,
      [season.conferenceId],
    )
  ).rows[0]!;

/** Kills the server while it is at the reel, and starts it again once the dead one's hold on it has run out. */
async function killWhileMaking(further: number): Promise<void> {
  await expect
    .poll(
      async () => {
        const { underway, progress } = await newestReel();
        return underway && progress > further;
      },
      // Making comes behind whatever else a busy machine does.
      { timeout: 240_000, interval: 50 },
    )
    .toBe(true);
  await server.kill();
  expect((await newestReel()).state).toBe('waiting');
  await database.pool.query("UPDATE reel SET in_hand_until = now() WHERE state = 'waiting'");
  await server.start();
}

/** No name in the words, and none in its bytes: ffprobe's tags, chapters and whatever else a file holds. */
function withoutNames(what: string, words: string | Buffer): void {
  const text = words.toString('latin1').toLowerCase();
  for (const name of names) expect(text.includes(name.toLowerCase()), `${name} in ${what}`).toBe(false);
}

describe.sequential('a program from nothing to watched', () => {
  test('its film comes through a cut connection, and two plays are marked in it', async () => {
    await open(desk, `/games/${season.gameId}`);
    await follow(desk, 'Film');
    await desk.fill('#field-uploadAngle', 'Sideline');
    await desk.setInputFiles('#upload-file', film);
    let pieces = 0;
    await desk.route('**/films/uploads/*', (route) => {
      const isSecond = route.request().method() === 'PATCH' && ++pieces === 2;
      return isSecond ? route.abort('connectionreset') : route.continue();
    });
    await press(desk, 'Upload it');
    await desk.waitForURL(/done=upload/);
    expect(pieces).toBe(3);
    await desk.unroute('**/films/uploads/*');
    await desk.waitForSelector('.tag:text-is("can be watched")');
    await look(desk, '01-film');
    // The film runs one second behind the log.
    for (const [at, time] of [
      [0, '0:03'],
      [4, '0:11'],
    ] as const) {
      await open(desk, `/games/${season.gameId}/plays/${season.playIds[at]}/film`);
      await desk.fill('#time', time);
      await press(desk, 'Mark this play');
    }
    await desk.waitForSelector('text=2 marked plays agree with the log');
    await look(desk, '02-marked');
  }, 180_000);

  test('three plays are chosen, written on and previewed, though the server is killed twice', async () => {
    await open(desk, '/training');
    await desk.fill('#field-title', 'Eyes on players');
    await desk.fill('#field-goal', 'Everybody keeps their eyes on players.');
    await press(desk, 'Open it');
    program = new URL(desk.url()).pathname;
    await look(desk, '03-program-empty');
    await follow(desk, 'Choose plays');
    await look(desk, '04-candidates');
    for (const at of [0, 2, 4]) {
      const row = desk.locator(`tr:has(a[href$="/plays/${season.playIds[at]}/duties"])`).first();
      await row.getByRole('button', { name: /^Put in/ }).click();
      await desk.waitForSelector(`tr:has(a[href$="/plays/${season.playIds[at]}/duties"]) >> text=Place`);
    }
    await follow(desk, 'Eyes on players');
    await look(desk, '05-program');
    await desk.click('.program-play a >> nth=0');
    for (const place of [1, 2, 3]) {
      await desk.waitForSelector(`h1:has-text("Play ${place}:")`);
      await desk.fill('#field-topic', 'Eyes');
      await desk.fill('#field-answer', 'Keep watching the players.');
      await desk.fill('#field-narration', 'Watch the players.');
      await desk.fill('#field-secondsBefore', '1');
      await desk.fill('#field-secondsAfter', '2');
      if (place === 2) {
        await desk.fill('#field-question', 'What is expected here?');
        await desk.fill('#choice-1', 'Keep watching');
        await desk.check('input[name=right1]');
        await desk.fill('#choice-2', 'Look away');
      }
      if (place === 1) await look(desk, '06-card');
      await press(desk, place < 3 ? 'Keep it and go to the next play' : 'Keep the card');
    }
    await desk.waitForSelector('text=The card is kept');
    await follow(desk, 'Eyes on players');
    await press(desk, 'Preview it as a reel');
    await look(desk, '07-preview-waits');
    await killWhileMaking(0);
    await killWhileMaking(0.3);
    await open(desk, new URL(desk.url()).pathname);
    await desk.waitForSelector('[data-says]:text-is("ready")');
    await desk.waitForFunction(() => document.querySelector('video')!.readyState >= 1);
    const reels = await readdir(path.join(data, 'reels', season.conferenceId));
    expect(reels.filter((name) => name.endsWith('.mp4'))).toHaveLength(1);
    await look(desk, '08-preview');
  }, 600_000);

  test('who is shown is told first, and the edition is released with its reel', async () => {
    await follow(desk, 'Look it over and release');
    await look(desk, '09-release');
    await follow(desk, 'Tell them, and decide on objections');
    await press(desk, 'Tell them now');
    await desk.waitForSelector('text=may object');
    await look(desk, '10-told');
    // The days in which they may object go by.
    await database.pool.query('UPDATE training_shown SET object_until = now()');
    await follow(desk, 'To the release');
    await press(desk, 'Release edition 1');
    await look(desk, '11-edition');
    await press(desk, 'Make the reel');
    await desk.waitForSelector('[data-says]:text-is("ready")');
    await look(desk, '12-reel');
  }, 300_000);

  test('an official watches it on a telephone, with captions, and answers its question', async () => {
    const phone = await pageOf(season.crew.referee!, 390);
    await open(phone, '/');
    await look(phone, '20-official-first');
    await follow(phone, 'To watch: Eyes on players');
    await follow(phone, 'Watch it');
    await look(phone, '21-notice');
    await press(phone, 'I read this and keep to it');
    await phone.waitForFunction(() => document.querySelector('video')!.readyState >= 2);
    await look(phone, '22-reel');
    await phone.evaluate(() => {
      const video = document.querySelector('video')!;
      const shown: string[] = [];
      Object.assign(window, { shown });
      const [track] = video.textTracks;
      track!.addEventListener('cuechange', () => {
        for (const cue of Array.from(track!.activeCues ?? [])) shown.push((cue as VTTCue).text);
      });
      return video.play();
    });
    await phone.waitForSelector('form[data-play="2"]:visible');
    const question = await phone.textContent('form[data-play="2"]');
    expect(question).toContain('What is expected here?');
    expect(await phone.evaluate(() => document.querySelector('video')!.paused)).toBe(true);
    await look(phone, '23-question');
    await phone.click('form[data-play="2"] label:has-text("Keep watching")');
    await press(phone, 'Answer');
    await phone.waitForSelector('[data-told]:visible');
    await look(phone, '24-told');
    await press(phone, 'Go on');
    await phone.waitForFunction(() => document.querySelector('video')!.ended);
    expect(await phone.evaluate(() => (window as unknown as { shown: string[] }).shown)).toContain(
      'Watch the players.',
    );
    await expect
      .poll(
        async () => {
          await phone.reload();
          return phone.textContent('main');
        },
        { timeout: 30_000, interval: 1000 },
      )
      .toContain('You watched it');
    await look(phone, '25-done');

    await follow(desk, 'Who watches, who has not, sessions');
    await desk.waitForSelector('text=1 of 10 watched');
    await look(desk, '26-who');
  }, 300_000);

  test('nobody’s name is in anything of it, and nobody else gets at it', async () => {
    const id = program.split('/').at(-1);
    const own = `/my/training/${id}/editions/1`;
    const phone = await pageOf(season.crew.referee!, 390);
    const got = async (place: string) => {
      const answer = await phone.context().request.get(new URL(place, server.address).href);
      expect([place, answer.status()]).toEqual([place, 200]);
      return answer.body();
    };
    const reel = await got(`${own}/reel.mp4`);
    withoutNames('the reel', reel);
    const file = path.join(await folderInRun('watched'), 'reel.mp4');
    await writeFile(file, reel);
    const probed = await run('ffprobe', [
      ...['-v', 'error', '-show_format', '-show_streams', '-show_chapters', '-of', 'json', file],
    ]);
    withoutNames('what ffprobe tells', probed.stdout);
    expect(
      JSON.parse(probed.stdout).chapters.map((one: { tags: { title: string } }) => one.tags.title),
    ).toEqual(['Opening', 'Play 1, Eyes', 'Play 2, Eyes', 'Play 3, Eyes', 'Closing']);
    withoutNames('the captions', await got(`${own}/captions.vtt`));
    withoutNames('the answer of the API', await got(`/api${own}`));
    await open(phone, own);
    withoutNames('the page', (await phone.textContent('main')) ?? '');

    // An official who came after the release is not of its audience.
    const { personId } = await makePerson(database.pool, season.conferenceId, ['official']);
    const other = (await pageOf(personId, 390)).context().request;
    for (const place of [own, `${own}/reel.mp4`, `${own}/captions.vtt`, `/api${own}`])
      expect([place, (await other.get(new URL(place, server.address).href)).status()]).toEqual([place, 404]);
  }, 120_000);
});
