// @module-tag rest
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { findingInWords } from '../../server/duties/consequence.ts';
import { shortTeams } from '../../server/football/game-teams.ts';
import { positionLetter } from '../../server/football/positions.ts';
import { type PlayColumns, playOf } from '../../server/games/play-rows.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import { allSent, showPlace } from './support/entry-driver.ts';
import { median, type Pace, seconds } from './support/keystroke-level.ts';
import { type ScriptedMark, script, type Touch } from './support/script-of-plays.ts';
import { ServerProcess } from './support/server-process.ts';

// Twenty-five plays with their marks, entered in a real browser as an observer would, once by keys and once by touch:
// what it costs, and that what arrives is what happened on the field.

let database: TestDatabase;
let server: ServerProcess;
let browser: Browser;
let game: OneGame;
let context: BrowserContext;
let page: Page;

beforeAll(async () => {
  database = await testDatabase();
  server = await ServerProcess.start(database.url);
  browser = await launchChromium();
});
afterAll(async () => {
  await browser?.close();
  await server?.kill();
  await database?.drop();
});

beforeEach(async () => {
  game = await oneGame(database.pool, 0);
  await database.pool.query(
    `UPDATE team SET name = CASE name WHEN 'Home' THEN 'Larkmoor' ELSE 'Coppermesa' END WHERE conference_id = $1`,
    [game.conferenceId],
  );
});

/** A tablet held upright; its touches are touches. */
async function openEntry(hasTouch: boolean): Promise<void> {
  const who = { conferenceId: game.conferenceId, personId: game.observerId };
  const reportId = await openReport(database.pool, who, game);
  context = await browser.newContext({
    viewport: hasTouch ? { width: 820, height: 1180 } : { width: 1280, height: 900 },
    hasTouch,
  });
  await signIn(context, server.address, await startSession(database.pool, who));
  page = await context.newPage();
  await page.goto(`${server.address}/reports/${reportId}/entry`);
  await page.waitForSelector('#report-entry[data-ready]');
  await page.click('.entry-actions button:has-text("New play")');
  await onPlay(1);
}

/** The play in view: nothing is typed or touched before the page shows it, as an observer's eyes would see to. */
const onPlay = (number: number) => page.waitForSelector(`#play-title:text-matches("^Play ${number}\\\\b")`);

async function expectWhatHappened(): Promise<void> {
  await allSent(page);
  const plays = await database.pool.query<PlayColumns & { number: number }>(
    'SELECT * FROM play WHERE conference_id = $1 AND removed_at IS NULL ORDER BY number',
    [game.conferenceId],
  );
  const marks = await database.pool.query(
    `SELECT l.number AS play, o.position, d.title, o.finding
       FROM observation o
       JOIN play l ON l.conference_id = o.conference_id AND l.id = o.play_id
       JOIN duty d ON d.conference_id = o.conference_id AND d.rubric_version_id = $2 AND d.key = o.duty_key
      WHERE o.conference_id = $1 AND o.removed_at IS NULL ORDER BY l.number`,
    [game.conferenceId, game.rubricVersionId],
  );
  const held = plays.rows.slice(0, script.length).map((row) => playOf(row));
  for (const [at, { what, facts }] of script.entries()) expect(held[at], what).toMatchObject(facts);
  expect(marks.rows).toEqual(
    script.flatMap(({ mark }, at) =>
      mark ? [{ play: at + 1, position: mark.position, title: mark.duty, finding: mark.finding }] : [],
    ),
  );
}

function report(by: string, paces: readonly Pace[]): void {
  const kinds = new Map<string, Pace[]>();
  for (const [at, pace] of paces.entries()) {
    const kind = script[at]!.kind;
    kinds.set(kind, [...(kinds.get(kind) ?? []), pace]);
  }
  const line = (name: string, some: readonly Pace[]) => {
    const of = (value: (pace: Pace) => number) => median(some.map(value)).toFixed(1);
    return `${name.padEnd(22)} ${String(some.length).padStart(2)} plays: ${of((p) => p.keys)} presses, ${of((p) => p.taps + p.places)} taps, ${of(seconds)} s`;
  };
  const lines = [...kinds].map(([kind, some]) => line(kind, some));
  console.log([`by ${by}, medians`, ...lines, line('all', paces)].join('\n'));
  console.log(
    `play by play: ${paces.map((pace, at) => `${at + 1}: ${pace.keys || pace.taps + pace.places}, ${seconds(pace).toFixed(1)} s`).join('; ')}`,
  );
}

function expectPace(paces: readonly Pace[]): void {
  expect(paces).toHaveLength(25);
  expect(median(paces.map(seconds))).toBeLessThanOrEqual(10);
  for (const [at, pace] of paces.entries()) {
    if (script[at]!.kind === 'with fouls') expect(seconds(pace), script[at]!.what).toBeLessThanOrEqual(20);
  }
}

describe('twenty-five plays with their marks', () => {
  test('by keys: a median of 12 presses or less, and 10 seconds', async () => {
    await openEntry(false);
    const paces: Pace[] = [];
    for (const [at, { line, mark, decisions }] of script.entries()) {
      const pace: Pace = { keys: 0, taps: 0, places: 0, decisions };
      const press = async (key: string) => {
        pace.keys++;
        await page.keyboard.press(key);
      };
      await page.waitForFunction(() => document.activeElement?.id === 'say');
      await page.keyboard.type(line);
      pace.keys += line.length;
      expect(await page.locator('.say-under mark').allTextContents(), line).toEqual([]);
      if (mark) {
        await press('Escape');
        await page.waitForFunction(() => document.activeElement?.id === 'play-pane');
        await markByKeys(mark, press);
        await press('n');
      } else await press('Enter');
      await onPlay(at + 2);
      paces.push(pace);
    }
    report('keys', paces);
    await expectWhatHappened();
    expect(median(paces.map(({ keys }) => keys))).toBeLessThanOrEqual(12);
    expectPace(paces);
    await context.close();
  });

  test('by touch: a median of 6 taps or less, and 10 seconds', async () => {
    await openEntry(true);
    const paces: Pace[] = [];
    for (const [at, { touches, mark, decisions }] of script.entries()) {
      const pace: Pace = { keys: 0, taps: 0, places: 0, decisions };
      const last = touches.at(-1);
      for (const touch of touches.slice(0, -1)) await doTouch(touch, pace);
      if (mark) await markByTouch(mark, pace);
      await doTouch(last!, pace);
      await onPlay(at + 2);
      paces.push(pace);
    }
    report('touch', paces);
    await expectWhatHappened();
    expect(median(paces.map(({ taps, places }) => taps + places))).toBeLessThanOrEqual(6);
    expectPace(paces);
    await context.close();
  });
});

async function doTouch(touch: Touch, pace: Pace): Promise<void> {
  const facts = page.locator('.facts-card');
  if (typeof touch === 'string') {
    pace.taps++;
    if (touch === 'correct') return facts.locator('.play-start > summary').click();
    return facts.getByRole('button', { name: touch, exact: true }).last().click();
  }
  if ('into' in touch) {
    pace.taps++;
    pace.keys += touch.types.length;
    const field = facts.getByLabel(touch.into, { exact: true }).first();
    await field.fill(touch.types);
    return field.blur();
  }
  const [yards, lane] = touch;
  pace.places++;
  await showPlace(page, yards, lane);
}

const dutyOf = (title: string) => page.locator('.duties .duty', { hasText: title }).first();

async function markByKeys(mark: ScriptedMark, press: (key: string) => Promise<void>): Promise<void> {
  await press(positionLetter[mark.position].toLowerCase());
  // The number that the page shows beside the duty.
  const key = (await dutyOf(mark.duty).locator('.key').textContent())!.trim();
  await press(key);
  await find(mark, async (nth) => press(String(nth)));
}

async function markByTouch(mark: ScriptedMark, pace: Pace): Promise<void> {
  pace.taps += 2;
  await page.click(`.officials button:has(.letter:text-is("${positionLetter[mark.position]}"))`);
  await dutyOf(mark.duty).click();
  await find(mark, async (nth) => {
    pace.taps++;
    await page.click(`.findings button:nth-of-type(${nth})`);
  });
}

/** The first finding is marked with the duty; another is one act more. */
async function find(mark: ScriptedMark, act: (nth: number) => Promise<void>): Promise<void> {
  await page.waitForSelector('.findings button');
  const texts = await page.$$eval('.findings button', (all) =>
    all.map((each) => (each.lastChild?.textContent ?? '').trim()),
  );
  const said = findingInWords(mark.finding);
  const nth = texts.indexOf(said) + 1;
  expect(nth).toBeGreaterThan(0);
  if (nth > 1) await act(nth);
  await page.waitForSelector(`.findings button[aria-pressed="true"]:has-text("${said}")`);
}

test('the short names of the teams stand in the script', () => {
  expect(shortTeams({ home: 'Larkmoor', visitor: 'Coppermesa' })).toEqual({ home: 'LAR', visitor: 'COP' });
});
