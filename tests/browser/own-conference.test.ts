// @module-tag long
import { execFile } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import type { Browser, BrowserContext, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import {
  conference,
  coordinator,
  crews,
  crewsFile,
  games,
  observers,
  playsFile,
  scheduleFile,
  staffFile,
  teamsFile,
  titleOf,
  venuesFile,
  watched,
} from '../own-conference/second-conference.ts';
import { makeNumberedFilm } from '../reels/numbered-films.ts';
import { program } from '../support/program.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { launchChromium } from './support/chromium.ts';
import { allSent, enterGame, type PlannedPlay, pressFile } from './support/entry-driver.ts';
import { ServerProcess } from './support/server-process.ts';

// A conference made from nothing, by its own pages and files alone: nothing here reads the database or calls a loader.
// What a new coordinator, an observer and an official would do, in their order, to the letters and into next season.

const run = promisify(execFile);
const password = 'four crews under one moon';
const shots = process.env.SCREENSHOTS;

let database: TestDatabase;
let server: ServerProcess;
let browser: Browser;
let folder: string;

beforeAll(async () => {
  // An empty, migrated database, as a server that was just installed has.
  database = await testDatabase();
  server = await ServerProcess.start(database.url, { DATA_DIR: await folderInRun('data') });
  browser = await launchChromium();
  folder = await mkdtemp(path.join(os.tmpdir(), 'crewmark-own-'));
});
afterAll(async () => {
  for (const [who, page] of devices) await look(page, `last-${who}`);
  await browser?.close();
  await server?.kill();
  await database?.drop();
  if (folder) await rm(folder, { recursive: true });
});

const devices = new Map<string, Page>();

/** The page of a person's own device, narrow for those who use a telephone or a tablet. */
async function device(who: string, width: number): Promise<Page> {
  const context: BrowserContext = await browser.newContext({ viewport: { width, height: 900 } });
  const page = await context.newPage();
  devices.set(who, page);
  return page;
}
const pageOf = (who: string) => devices.get(who)!;

const open = (page: Page, place: string) => page.goto(new URL(place, server.address).href);
const wordsOf = async (part: Locator) => ((await part.textContent()) ?? '').replace(/\s+/g, ' ').trim();
const heading = (page: Page) => wordsOf(page.locator('h1').first());
/** All that the page says, its menu aside. */
const said = (page: Page) => wordsOf(page.locator('main'));
const press = (page: Page, name: string) => page.getByRole('button', { name, exact: true }).first().click();
const follow = (page: Page, name: string | RegExp) =>
  page
    .getByRole('link', { name, exact: typeof name === 'string' })
    .first()
    .click();
const fill = (page: Page, label: string, value: string) =>
  page.getByLabel(label, { exact: true }).fill(value);
const choose = (page: Page, label: string, option: string) =>
  page.getByLabel(label, { exact: true }).selectOption({ label: option });

/** Keeps a picture of the page where somebody wants to look at it (SCREENSHOTS=folder). */
async function look(page: Page, name: string): Promise<void> {
  if (shots) await page.screenshot({ path: path.join(shots, `${name}.png`), fullPage: true });
}

/** No page shows a broken figure or scrolls sideways. */
async function wellMade(page: Page): Promise<void> {
  expect(await said(page)).not.toMatch(/NaN|undefined|Infinity|\[object/);
  const sideways = await page.evaluate(
    () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
  );
  expect(sideways, `${page.url()} scrolls sideways`).toBeLessThanOrEqual(1);
}

/** The step of the coordinator's list with this title: its state and its first link. */
async function step(title: string) {
  const page = pageOf('coordinator');
  await open(page, '/setup');
  const item = page
    .locator('.setup > li')
    .filter({ has: page.getByRole('heading', { name: title, exact: true }) });
  return { item, state: await wordsOf(item.locator('.tag')) };
}

async function importFile(name: string, bytes: Buffer): Promise<void> {
  const page = pageOf('coordinator');
  const file = path.join(folder, name);
  await writeFile(file, bytes);
  await open(page, '/import');
  await page.getByLabel('Files', { exact: true }).setInputFiles(file);
  await press(page, 'Import');
}

async function imported(name: string): Promise<void> {
  const page = pageOf('coordinator');
  await page.getByRole('heading', { name: 'Import result' }).waitFor();
  expect(await said(page)).toContain(`${name} is imported`);
}

describe.sequential('a conference of one’s own', () => {
  test('its coordinator comes in by the printed link, and is led by the list of what is to do', async () => {
    const { stdout } = await run(
      process.execPath,
      [
        ...program('server/accounts/new-conference.ts'),
        ...['--name', conference.name],
        ...['--given', coordinator.given, '--family', coordinator.family, '--email', coordinator.email],
      ],
      { env: { ...process.env, DATABASE_URL: database.url, PUBLIC_URL: server.address, DEMO: 'off' } },
    );
    const page = await device('coordinator', 1280);
    await page.goto(/http:\S+/.exec(stdout)![0]);
    await setPassword(page);
    expect(await heading(page)).toBe('My desk');
    expect(await said(page)).toContain('9 steps are left. Next: Conference.');
    await look(page, '00-desk-of-the-first-day');
    await wellMade(page);
    await follow(page, 'All steps');
    expect(await heading(page)).toMatch(/^Setting up/);
    await look(page, '01-setting-up');
    const steps = await page.locator('.setup h2').allInnerTexts();
    expect(steps).toEqual([
      'Conference',
      'Season',
      'Rubric',
      'Venues and teams',
      'Staff',
      'Crews',
      'Schedule',
      'Invitations',
      'Settings',
    ]);
    await wellMade(page);
  });

  test('no page of the menu answers an error for being early', async () => {
    const page = pageOf('coordinator');
    const menu = await page
      .locator('.menu a')
      .evaluateAll((links) => links.map((link) => link.getAttribute('href')!));
    expect(menu.length).toBeGreaterThan(5);
    for (const place of menu) {
      const answer = await open(page, place);
      expect(answer!.status(), place).toBe(200);
      await wellMade(page);
    }
  });

  test('conference, season and rubric, by their pages', async () => {
    const page = pageOf('coordinator');
    await (await step('Conference')).item.getByRole('link').first().click();
    await fill(page, 'Time zone', conference.timeZone);
    await page.getByLabel('High school', { exact: true }).check();
    await choose(page, 'Crew size', `${conference.crewSize} officials`);
    await press(page, 'Keep');
    expect((await step('Conference')).state).toBe('done');

    await (await step('Season')).item.getByRole('link').first().click();
    await openSeason(page, conference.season, '2026-08-31', 4);
    expect((await step('Season')).state).toBe('done');

    await (await step('Rubric')).item.getByRole('link').first().click();
    await press(page, 'Begin the rubric');
    await press(page, 'Confirm the rubric');
    expect((await step('Rubric')).state).toBe('done');
  });

  test('venues, teams, staff and crews, as a spreadsheet saves them', async () => {
    await importFile('venues.csv', venuesFile());
    await imported('venues.csv');
    await importFile('teams.csv', teamsFile());
    await imported('teams.csv');
    expect((await step('Venues and teams')).state).toBe('done');
    await importFile('staff.csv', staffFile());
    await imported('staff.csv');
    expect((await step('Staff')).state).toBe('done');
    await importFile('crews.csv', crewsFile());
    await imported('crews.csv');
    expect((await step('Crews')).state).toBe('done');
  });

  test('a power cut in the middle of it costs nothing: the list goes on where it was', async () => {
    await server.kill();
    await server.start();
    for (const title of ['Conference', 'Season', 'Rubric', 'Venues and teams', 'Staff', 'Crews']) {
      expect((await step(title)).state, title).toBe('done');
    }
    expect((await step('Schedule')).state).toBe('to do');
    // Half done twice: the same file once more changes nothing.
    await importFile('crews.csv', crewsFile());
    expect(await said(pageOf('coordinator'))).toContain('crews.csv holds nothing new: 10 unchanged');
  });

  test('the schedule, after saying once what 9/4 means', async () => {
    const page = pageOf('coordinator');
    await importFile('schedule-begin.csv', scheduleFile(1, 2));
    await look(page, '02-which-comes-first');
    await page.getByLabel(/month first/i).check();
    await press(page, 'Import with these answers');
    await imported('schedule-begin.csv');
    // Where a day is over 12, the file tells by itself.
    await importFile('schedule-end.csv', scheduleFile(3, 4));
    await imported('schedule-end.csv');
    expect((await step('Schedule')).state).toBe('done');
    await open(page, '/season');
    await follow(page, 'all weeks');
    expect(await said(page)).toContain(titleOf(games[0]));
    expect(await said(page)).toContain('Sep 4, 2026');
    await wellMade(page);
  });

  test('a team is corrected by hand, and the settings are kept', async () => {
    const page = pageOf('coordinator');
    await open(page, '/teams');
    await follow(page, 'Dunmore Flats');
    expect(await page.getByLabel('Name', { exact: true }).inputValue()).toBe('Dunmore Flats');
    await press(page, 'Keep');
    await (await step('Settings')).item.getByRole('link').first().click();
    await fill(page, 'Games needed to be ranked', '2');
    await fill(page, 'Opportunities needed to be ranked', '20');
    await press(page, 'Keep');
    expect((await step('Settings')).state).toBe('done');
  });

  test('everybody is invited in one step, on a sheet to cut', async () => {
    const page = pageOf('coordinator');
    await (await step('Invitations')).item.getByRole('link').first().click();
    await press(page, 'Make the sheet to print');
    await look(page, '03-invitations');
    const cards = await page.locator('.invitation').evaluateAll((all) =>
      all.map((card) => ({
        name: card.querySelector('h2')!.textContent!.trim(),
        link: card.querySelector('.invitation-address')!.textContent!.trim(),
      })),
    );
    expect(cards).toHaveLength(12);
    const wanted: [name: string, width: number][] = [
      ...observers.map(({ given, family }): [string, number] => [`${given} ${family}`, 820]),
      [nameOf(umpire), 390],
    ];
    for (const [name, width] of wanted) {
      const own = await device(name, width);
      await own.goto(cards.find((card) => card.name === name)!.link);
      await setPassword(own);
      await wellMade(own);
    }
    expect((await step('Invitations')).state).toBe('done');
  });

  test('the list is done, and can be called back', async () => {
    const page = pageOf('coordinator');
    await open(page, '/setup');
    expect(await said(page)).toContain('Everything is set up');
    await open(page, '/');
    expect(await heading(page)).not.toMatch(/^Setting up/);
    await open(page, '/my/account');
    await follow(page, /set(ting)? ?up/i);
    expect(await heading(page)).toMatch(/^Setting up/);
  });

  test('observers are offered games and accept them', async () => {
    const page = pageOf('coordinator');
    for (const { observer, game } of watched) {
      const { week, title } = gameOf(game);
      const { given, family } = observers[observer];
      await open(page, `/observers/weeks/${week}`);
      await follow(page, new RegExp(`^(Choose an observer for|Note who watched) ${title}`));
      const choices = page.locator('label', { hasText: `${given} ${family}` });
      const filmed = choices.filter({ hasText: 'film' }).locator('input');
      await page.locator('details.breaking').evaluateAll((all) => {
        for (const details of all) (details as HTMLDetailsElement).open = true;
      });
      await filmed.first().check();
      await page
        .getByLabel(/^Reason/)
        .first()
        .fill('Asked by telephone.');
      // A game that is over is offered to be watched on film.
      await page.getByRole('button', { name: /^(Offer the game|Ask for the film)$/ }).click();
      await page
        .locator('.who-watches', { hasText: `${given} ${family}` })
        .first()
        .waitFor();
      const own = pageOf(`${given} ${family}`);
      await open(own, '/my/assignments');
      const accept = own.getByRole('button', { name: `Accept ${title}` });
      await accept.click();
      await accept.waitFor({ state: 'detached' });
      expect(await said(own)).toContain(title);
    }
  });

  test('a play log kept elsewhere is imported for the games that nobody types', async () => {
    await importFile('plays.csv', playsFile(watched.slice(1).map(({ game }) => game)));
    const page = pageOf('coordinator');
    await page
      .getByLabel(/head linesman/i)
      .first()
      .check();
    await press(page, 'Import with these answers');
    await imported('plays.csv');
  });

  test('an observer confirms the crew, enters plays and marks, and files', async () => {
    const { given, family } = observers[0];
    const page = pageOf(`${given} ${family}`);
    await beginReport(page, watched[0].game);
    await look(page, '04a-entry-begins');
    await confirmCrew(page);
    const plan: PlannedPlay[] = [
      { kind: 'kickoff', gain: 0, marks: [] },
      { kind: 'run', gain: 4, marks: [markOn('umpire', 'Late to the pile.')] },
      { kind: 'pass', gain: 7, marks: [markOn('line judge', 'Turned away from the sideline.')] },
      { kind: 'run', gain: -1, marks: [markOn('head linesman', 'In the runner’s way.')] },
      ...Array.from(
        { length: 8 },
        (_, at): PlannedPlay => ({ kind: at === 3 ? 'pass' : 'run', gain: at - 2, marks: [] }),
      ),
    ];
    await enterGame(() => page, plan, 'pointer');
    await settle(page);
    await look(page, '04-entry');
    await allSent(page);
    await file(page);
  });

  test('both observers mark the imported logs and file', async () => {
    for (const [at, { observer, game }] of watched.slice(1).entries()) {
      const { given, family } = observers[observer];
      const page = pageOf(`${given} ${family}`);
      await beginReport(page, game);
      await confirmCrew(page);
      for (const [nth, position] of (['umpire', 'head linesman', 'back judge'] as const).entries()) {
        await page
          .locator('.entry-plays button', { has: page.locator(`.play-number:text-is("${3 + nth + at}")`) })
          .click();
        await page.click(`.officials button:has(.letter:text-is("${letters[position]}"))`);
        await page.click('.duties > ol .duty >> nth=0');
        await page.fill('#mark-comment', `Seen late, play ${3 + nth + at}.`);
      }
      await settle(page);
      await allSent(page);
      await file(page);
    }
  });

  test('the coordinator accepts and releases', async () => {
    const page = pageOf('coordinator');
    for (const { game } of watched) {
      await open(page, '/reports');
      await page
        .locator('tr', { hasText: gameOf(game).title })
        .getByRole('link')
        .first()
        .click();
      await look(page, `04b-review-${game}`);
      const review = await said(page);
      expect(review).toMatch(/Watched\s*Everybody/);
      expect(review).toMatch(/Log gives\s*(over )?\d+ %/);
      await wellMade(page);
      await press(page, 'Accept');
      await press(page, 'Release to the officials');
      await page.locator('.tag', { hasText: 'released' }).first().waitFor();
    }
    await wellMade(page);
  });

  test('an official reads their marks on a telephone, answers one, and reads the ruling', async () => {
    const own = pageOf(nameOf(umpire));
    await open(own, '/');
    await look(own, '05-official-first-page');
    await wellMade(own);
    await open(own, '/my/marks');
    await look(own, '06-my-marks');
    await open(own, '/my/evaluation');
    await look(own, '06b-my-evaluation');
    expect(await said(own)).toMatch(/The logs of these games give (over )?\d+ % of the chances/);
    await wellMade(own);
    await open(own, '/my/marks');
    const marks = await said(own);
    expect(marks).toContain('Late to the pile.');
    expect(marks).not.toContain('In the runner’s way.');
    await own
      .getByRole('link', { name: /^Answer/ })
      .first()
      .click();
    await own.getByLabel('Your answer').fill('I had to give ground to the rush.');
    await press(own, 'Send the answer');

    const page = pageOf('coordinator');
    await open(page, '/replies');
    await follow(page, nameOf(umpire));
    await page.getByLabel('stands', { exact: true }).check();
    await page.getByLabel('Note to the official').fill('Noted; the position is what counts.');
    await press(page, 'Rule');

    await open(own, '/my/marks');
    expect(await said(own)).toContain('Noted; the position is what counts.');
  });

  test('standings rank both umpires, with their uncertainty', async () => {
    const page = pageOf('coordinator');
    await open(page, '/standings');
    await follow(page, 'Umpire');
    await look(page, '07-standings');
    const text = await said(page);
    for (const each of umpires) expect(text).toContain(nameOf(each));
    expect(text).toContain('90 % interval');
    await wellMade(page);
    await open(page, '/observers/coverage');
    await look(page, '07b-coverage');
    await open(page, '/settings');
    await look(page, '07c-settings');
    await wellMade(page);
  });

  test('a selection for a game after the season: facts, tiers, a proposal, and what people make of it', async () => {
    const page = pageOf('coordinator');
    await open(page, '/postseason');
    await follow(page, 'Facts of officials');
    for (const each of umpires) {
      await choose(page, `Good standing, ${nameOf(each)}`, 'yes');
      await choose(page, `Available after the season, ${nameOf(each)}`, 'yes');
      await fill(page, `Years of service, ${nameOf(each)}`, '9');
    }
    await press(page, 'Keep');
    expect(await said(page)).toContain('Kept: 2 changed.');
    await look(page, '07d-facts');
    await wellMade(page);

    await open(page, '/postseason');
    await fill(page, 'Title', 'Bowls');
    await press(page, 'Make it');
    expect(await heading(page)).toBe('Bowls preparing');
    const address = page.url();
    await follow(page, 'Rules and weights');
    await fill(page, 'Games in the position, at least', '1');
    await press(page, 'Keep');
    await follow(page, 'Add a game');
    await fill(page, 'Name', 'Harvest Bowl');
    await fill(page, 'Day', '2026-12-05');
    await fill(page, 'Home team by name', 'Winner of the plains');
    await fill(page, 'Coordinates', '40.1, -104.9');
    await fill(page, 'Alternates', '0');
    await press(page, 'Keep');
    await follow(page, 'Candidates in tiers');
    await follow(page, 'Umpire');
    for (const width of [1280, 820]) {
      await page.setViewportSize({ width, height: 900 });
      await look(page, `07e-candidates-${width}`);
      await wellMade(page);
    }
    const tiers = await said(page);
    for (const each of umpires) expect(tiers).toContain(nameOf(each));
    expect(tiers).toContain('Tier 1');
    expect(tiers).toContain('not known of Winner of the plains');

    await page.goto(address);
    await press(page, 'Propose');
    expect(await said(page)).toContain('Nobody is chosen by it.');
    const place = (name: string) =>
      page.getByRole('row').filter({ has: page.getByRole('rowheader', { name, exact: true }) });
    const umpiresIn = async (column: string) => {
      const cell = await wordsOf(place('Umpire').locator(`td[data-label="${column}"]`));
      return umpires.map(nameOf).filter((name) => cell.includes(name));
    };
    const proposed = await umpiresIn('Proposed by the program');
    expect(proposed).toHaveLength(1);
    expect(await wordsOf(place('Referee'))).toContain('Left out by standing: 2 (not known)');
    await press(page, 'Take over what is proposed as choices');
    expect(await said(page)).toContain('1 of 5 places chosen');
    // People decide otherwise, and say so.
    await page.getByRole('link', { name: 'Change umpire, Harvest Bowl' }).click();
    await page.getByRole('button', { name: /^Choose .* as umpire$/ }).click();
    expect(await said(page)).toContain('Chosen.');
    // What was proposed stays beside it, so that a reader sees where people departed from it.
    expect(await umpiresIn('Proposed by the program')).toEqual(proposed);
    const chosen = await umpiresIn('Chosen by people');
    expect(chosen).toHaveLength(1);
    expect(chosen).not.toEqual(proposed);
    for (const width of [820, 1280]) {
      await page.setViewportSize({ width, height: 900 });
      await look(page, `07f-selection-${width}`);
      await wellMade(page);
    }
  });

  test('letters are made and released, and the official downloads their own', async () => {
    const page = pageOf('coordinator');
    await open(page, '/letters');
    await press(page, 'Make all letters');
    await page.locator('#progress[data-finished]').waitFor();
    await open(page, page.url());
    await page.getByRole('button', { name: /^Release \d+ letters$/ }).click();
    await page.locator('.tag', { hasText: 'released' }).first().waitFor();
    await look(page, '08-letters');

    const own = pageOf(nameOf(umpire));
    await open(own, '/my/letters');
    const link = await own.locator('table a', { hasText: 'PDF' }).first().getAttribute('href');
    const answer = await own.context().request.get(new URL(link!, server.address).href);
    expect(answer.headers()['content-type']).toContain('application/pdf');
    const file = path.join(folder, 'letter.pdf');
    await writeFile(file, await answer.body());
    const { stdout } = await run('pdftotext', ['-layout', file, '-']);
    expect(stdout).toContain(nameOf(umpire));
    expect(stdout).toContain(conference.name);
    expect(stdout).not.toMatch(/NaN|undefined/);
  });

  test('a training program is opened, a play chosen and written on, released, and its key points printed', async () => {
    const page = pageOf('coordinator');
    await open(page, '/training');
    await fill(page, 'Title', 'Where the umpire stands');
    await page.fill('#field-goal', 'Every umpire keeps out of the runner’s way.');
    await press(page, 'Open it');
    await follow(page, 'Choose plays');
    await page
      .getByRole('button', { name: /^Put in: / })
      .first()
      .click();
    await page
      .getByRole('button', { name: /^Take out: / })
      .first()
      .waitFor();
    expect(await said(page)).toMatch(/[01] good, [01] bad/);
    await look(page, '08b-training-candidates');
    await wellMade(page);
    await follow(page, 'Where the umpire stands');
    await page.locator('.program-play a').first().click();
    await page.fill('#field-answer', 'Step back before the snap and stand still.');
    await page.fill('#field-firstKey', 'Depth before the snap');
    await page.fill('#field-secondKey', 'Feet still at the snap');
    await page.fill('#field-narration', 'Watch the umpire before the snap.');
    await page.fill('#field-secondsBefore', '2');
    await page.fill('#field-secondsAfter', '3');
    expect(await page.locator('#reading').textContent()).toMatch(/^6 words, 2 seconds aloud/);
    await press(page, 'Keep the card');
    await look(page, '08c-training-card');
    await wellMade(page);
    await follow(page, 'Where the umpire stands');
    await follow(page, 'Look it over and release');
    await look(page, '08d-training-release');
    await page.fill('#field-untoldBecause', 'They were told by telephone.');
    await press(page, 'Release edition 1');
    const link = await page.getByRole('link', { name: 'Key points to take home (PDF)' }).getAttribute('href');
    const answer = await page.context().request.get(new URL(link!, server.address).href);
    const file = path.join(folder, 'key-points.pdf');
    await writeFile(file, await answer.body());
    const { stdout } = await run('pdftotext', ['-layout', file, '-']);
    expect(stdout).toContain('Depth before the snap');
    for (const [crew, members] of Object.entries(crews))
      for (const name of [crew, ...members.map(({ family }) => family)]) expect(stdout).not.toContain(name);
    await wellMade(page);
  });

  test('film of the game is brought, the reel is made, and the umpire watches it on a telephone', async () => {
    const page = pageOf('coordinator');
    const film = path.join(folder, 'week 1.mp4');
    await makeNumberedFilm(film);
    await follow(page, 'Where the umpire stands');
    await follow(page, /^bring it/);
    await page.fill('#field-uploadAngle', 'Sideline');
    await page.setInputFiles('#upload-file', film);
    await press(page, 'Upload it');
    await page.waitForSelector('.tag:text-is("can be watched")', { timeout: 600_000 });
    await look(page, '08e-training-film');
    await open(page, '/training');
    await follow(page, 'Where the umpire stands');
    await follow(page, /^Cut its film/);
    await follow(page, 'Mark its snap in a film');
    await page.fill('#time', '0:04');
    await press(page, 'Mark this play');
    await page.waitForSelector('text=Marked at');
    await open(page, '/training');
    await follow(page, 'Edition 1');
    expect(await said(page)).toContain('Film came after the release: play 1');
    await press(page, 'Make the reel');
    await page.waitForSelector('[data-says]:text-is("ready")', { timeout: 600_000 });
    await wellMade(page);
    const phone = pageOf(nameOf(umpire));
    await open(phone, '/');
    await follow(phone, 'To watch: Where the umpire stands');
    await follow(phone, 'Watch it');
    await press(phone, 'I read this and keep to it');
    await phone.waitForFunction(() => document.querySelector('video')!.readyState >= 2);
    await look(phone, '08f-training-watched');
    await wellMade(phone);
  });

  test('next season opens from this one, and everybody still reads the last', async () => {
    const page = pageOf('coordinator');
    await openNextSeason(page);
    await look(page, '10-in-the-next-season');
    await wellMade(page);
    const title = titleOf(games[0]);
    await readLastSeason(page, '/reports', title);
    const observer = pageOf(`${observers[0].given} ${observers[0].family}`);
    await readLastSeason(observer, '/my/games', title);
    const own = pageOf(nameOf(umpire));
    await readLastSeason(own, '/my/marks', title);
    expect(await said(own)).toContain('Late to the pile.');
  });
});

const letters = { umpire: 'U', 'head linesman': 'H', 'back judge': 'B' } as const;
const umpires = Object.values(crews).map((members) => members[1]!);
const umpire = crews.Limestone![1]!;
const nameOf = ({ given, family }: { given: string; family: string }) => `${given} ${family}`;
const gameOf = (key: string) => {
  const game = games.find((each) => each.key === key)!;
  return { ...game, title: titleOf(game) };
};
const markOn = (position: PlannedPlay['marks'][number]['position'], comment: string) => ({
  position,
  duty: 0,
  finding: 0,
  comment,
});

async function setPassword(page: Page): Promise<void> {
  await page.getByLabel('Password', { exact: true }).fill(password);
  await page.getByLabel('The same again', { exact: true }).fill(password);
  await press(page, 'Set the password and sign in');
  await page.locator('.who').waitFor({ state: 'attached' });
}

async function openSeason(page: Page, name: string, firstDay: string, weeks: number): Promise<void> {
  expect(await heading(page)).toBe('Open a season');
  await fill(page, 'Name', name);
  await fill(page, 'First day of the first week', firstDay);
  await fill(page, 'Weeks', String(weeks));
  expect(await page.getByLabel('Officials in a crew', { exact: true }).inputValue()).toBe(
    String(conference.crewSize),
  );
  await press(page, 'Open the season');
}

async function openNextSeason(page: Page): Promise<void> {
  await open(page, '/seasons');
  await follow(page, /next season/i);
  await look(page, '09-next-season');
  await press(page, 'Open the new season');
  await open(page, '/seasons');
  await page.getByRole('button', { name: /^Make current.*2027/ }).click();
  await open(page, '/season');
  expect(await heading(page)).toBe('2027');
}

async function readLastSeason(page: Page, place: string, title: string): Promise<void> {
  await open(page, place);
  await page.locator('.season-switch summary').click();
  await page.locator('.season-list button', { hasText: conference.season }).click();
  await open(page, place);
  expect(await said(page)).toContain(title);
  await wellMade(page);
}

async function beginReport(page: Page, key: string): Promise<void> {
  await open(page, '/my/games');
  await page.getByRole('button', { name: `Begin the report on ${gameOf(key).title}` }).click();
  await page.waitForSelector('#report-entry[data-ready]');
}

/** The scheduled crew is proposed; the observer says that it is who really works. */
async function confirmCrew(page: Page): Promise<void> {
  await page.click('.entry-actions button:has-text("Crew")');
  await page.click('dialog button:has-text("Confirm this crew")');
  await page.locator('dialog').waitFor({ state: 'hidden' });
}

async function file(page: Page): Promise<void> {
  await page.click('.entry-actions button:has-text("Check and file")');
  await page.click('#watched-field button:has-text("Everybody")');
  await pressFile(page);
  await page.waitForSelector('.entry-name .tag:text-is("filed")');
}

/** Play by play: who carried, and that nothing unusual happened. Only what is known lets chances be counted. */
async function settle(page: Page): Promise<void> {
  for (const play of await page.locator('.entry-plays ol button').all()) {
    await play.click();
    const carried = page.getByRole('button', { name: 'Run back, receiver', exact: true });
    if (await carried.isVisible()) {
      const runs = await page.locator('.entry-plays [aria-current] .play-kind').textContent();
      if (runs === 'run' && (await carried.getAttribute('aria-pressed')) === 'false') await carried.click();
    }
    await page.getByRole('button', { name: 'Nothing else happened', exact: true }).click();
  }
}
