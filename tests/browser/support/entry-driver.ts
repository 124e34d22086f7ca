import type { Page } from 'playwright-core';
import { findingInWords } from '../../../server/duties/consequence.ts';
import { type Finding, findings } from '../../../server/duties/finding.ts';
import { teamSpellings } from '../../../server/football/game-teams.ts';
import { nextPlay } from '../../../server/football/next-play.ts';
import type { Play } from '../../../server/football/play.ts';
import { type Position, positionLetter, positions } from '../../../server/football/positions.ts';
import { readWords } from '../../../server/football/said/index.ts';
import { type Lane, lanes } from '../../../server/football/sides.ts';

/** What an observer is going to enter, play by play, made from a seed. */
export interface PlannedPlay {
  kind: 'run' | 'pass' | 'kickoff';
  gain: number;
  marks: { position: Position; duty: number; finding: number; comment: string }[];
}

interface EnteredMark {
  play: number;
  position: Position;
  title: string;
  finding: Finding;
  comment: string;
}

export interface Entered {
  plays: Play[];
  marks: EnteredMark[];
  /** Key presses or taps that each mark took beside its comment. */
  presses: number[];
}

/** A small seeded generator (mulberry32), so that a failing run can be repeated. */
export function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** Its marks are on plays after the first `unmarked`. */
export function planGame(plays: number, marks: number, seed: number, unmarked = 1): PlannedPlay[] {
  const random = seeded(seed);
  const below = (n: number) => Math.floor(random() * n);
  const planned: PlannedPlay[] = Array.from({ length: plays }, (_, at) => ({
    kind: at === 0 ? 'kickoff' : random() < 0.5 ? 'run' : 'pass',
    gain: below(9) - 1,
    marks: [],
  }));
  for (let made = 0; made < marks; ) {
    const play = planned[unmarked + below(plays - unmarked)]!;
    const position = positions[below(positions.length)]!;
    if (play.marks.some((mark) => mark.position === position)) continue;
    const comment = `Mark ${made + 1}: ${['late', 'early', 'wide of the spot', 'turned away'][below(4)]}.`;
    play.marks.push({ position, duty: below(9), finding: below(4), comment });
    made++;
  }
  return planned;
}

/** The plays of a planned game as the pointer enters them. */
export function playsOf(planned: readonly PlannedPlay[]): Play[] {
  const plays: Play[] = [];
  for (const plan of planned) plays.push(shownPlay(nextPlay(plays.at(-1)), plan));
  return plays;
}

/**
 * Enters a planned game, or what follows the plays that are there, on the page by pointer or by keyboard alone;
 * `between` runs after every play, with its number.
 */
export async function enterGame(
  page: () => Page,
  planned: readonly PlannedPlay[],
  by: 'pointer' | 'keyboard',
  between: (play: number) => Promise<void> = async () => {},
  there: readonly Play[] = [],
): Promise<Entered> {
  const entered: Entered = { plays: [...there], marks: [], presses: [] };
  for (const plan of planned) {
    const number = entered.plays.length + 1;
    const start = nextPlay(entered.plays.at(-1));
    const play = by === 'pointer' ? shownPlay(start, plan) : readWords(lineFor(plan), start, context).play;
    if (by === 'pointer') await typePlayByPointer(page(), number, play, plan);
    else await typePlayByKeyboard(page(), lineFor(plan));
    entered.plays.push(play);
    for (const mark of plan.marks) {
      const made = by === 'pointer' ? await markByPointer(page(), mark) : await markByKeyboard(page(), mark);
      entered.presses.push(made.presses);
      entered.marks.push({
        play: number,
        position: mark.position,
        title: made.title,
        finding: made.finding,
        comment: mark.comment,
      });
    }
    await between(number);
  }
  return entered;
}

const context = {
  code: 'college',
  teams: teamSpellings({ home: 'Home', visitor: 'Visitors' }),
  crew: positions,
} as const;

/** What a planned play is once it was entered by touch. */
function shownPlay(start: Play, { kind, gain }: PlannedPlay): Play {
  if (kind === 'kickoff') return { ...start, onside: false, kickResult: 'touchback' };
  return {
    ...start,
    kind,
    ...(kind === 'run' ? { carrier: 'other' } : { passResult: 'complete' }),
    endSpot: Math.max(1, Math.min(99, start.spot + gain)),
    endSide: 'middle',
  };
}

async function typePlayByPointer(page: Page, number: number, play: Play, plan: PlannedPlay): Promise<void> {
  await page.click('.entry-actions button:has-text("New play")');
  // The observer looks where they are; a tap that went astray is a failure here, not something to repeat.
  await page.waitForSelector(`#play-title:text-matches("^Play ${number}\\\\b")`);
  if (plan.kind === 'kickoff') {
    await touchChip(page, 'Kickoff deep');
    await touchChip(page, 'Touchback');
    return;
  }
  await touchChip(page, plan.kind === 'run' ? 'Run back, receiver' : 'Pass caught');
  if (plan.kind === 'pass') await touchChip(page, 'Dead at');
  await showPlace(page, play.endSpot!, 'middle');
}

/** Touches a chip, or another button, of the play's facts. */
export async function touchChip(page: Page, name: string | RegExp): Promise<void> {
  const exact = typeof name === 'string';
  await page.locator('.facts-card').getByRole('button', { name, exact }).click();
}

/** Touches the strip of the field where the ball was. */
export async function showPlace(page: Page, yards: number, lane: Lane): Promise<void> {
  const field = page.locator('.place-field');
  const { from, to } = await field.evaluate(({ dataset }) => ({
    from: Number(dataset.from),
    to: Number(dataset.to),
  }));
  const box = (await field.boundingBox())!;
  const across = 20 + (lanes.indexOf(lane) + 0.5) * ((box.height - 20) / lanes.length);
  await field.click({ position: { x: ((yards - from) / (to - from)) * box.width, y: across } });
}

/** Opens what hides the facts that are entered by themselves. */
export async function openFacts(page: Page): Promise<void> {
  const closed = page.locator('.facts-card details:not([open]) > summary');
  while ((await closed.count()) > 0) await closed.first().click();
}

async function typePlayByKeyboard(page: Page, line: string): Promise<void> {
  await page.keyboard.press('n');
  await page.waitForFunction(() => document.activeElement?.id === 'say');
  await page.keyboard.type(line);
  await page.keyboard.press('Escape');
  await page.waitForFunction(() => document.activeElement?.id === 'play-pane');
}

/** What an observer types for a planned play. */
const lineFor = ({ kind, gain }: PlannedPlay) => (kind === 'kickoff' ? 'touchback' : `${kind} ${gain}`);

type Plan = PlannedPlay['marks'][number];
type Made = { presses: number; title: string; finding: Finding };

async function markByPointer(page: Page, mark: Plan): Promise<Made> {
  let taps = 0;
  const tap = async (selector: string) => {
    taps++;
    await page.click(selector);
  };
  await tap(`.officials button:has(.letter:text-is("${positionLetter[mark.position]}"))`);
  const { nth, title } = await dutyAt(page, mark.duty);
  await tap(`.duties > ol .duty >> nth=${nth - 1}`);
  const finding = await findingAt(page, mark.finding);
  // The duty's own touch has marked it with the first finding.
  if (finding.nth > 1) await tap(`.findings button:nth-of-type(${finding.nth})`);
  await page.fill('#mark-comment', mark.comment);
  return { presses: taps, title, finding: finding.finding };
}

async function markByKeyboard(page: Page, mark: Plan): Promise<Made> {
  let presses = 0;
  const press = async (key: string) => {
    presses++;
    await page.keyboard.press(key);
  };
  await press(positionLetter[mark.position].toLowerCase());
  const { nth, title } = await dutyAt(page, mark.duty);
  await press(String(nth));
  const finding = await findingAt(page, mark.finding);
  if (finding.nth > 1) await press(String(finding.nth));
  await page.waitForFunction(() => document.activeElement?.classList.contains('duty'));
  await press('Enter');
  await page.waitForFunction(() => document.activeElement?.id === 'mark-comment');
  await page.keyboard.insertText(mark.comment);
  await press('Enter');
  await page.waitForFunction(() => document.activeElement?.closest('.officials') !== null);
  return { presses, title, finding: finding.finding };
}

async function dutyAt(page: Page, wanted: number): Promise<{ nth: number; title: string }> {
  // The duties of the play; those of the whole game stand in a list of their own.
  await page.waitForSelector('.duties > ol .duty');
  const titles = await page.$$eval('.duties > ol .duty .duty-text', (all) =>
    all.map((each) => (each.firstChild?.textContent ?? '').trim()),
  );
  const at = wanted % Math.min(9, titles.length);
  return { nth: at + 1, title: titles[at]! };
}

async function findingAt(page: Page, wanted: number): Promise<{ nth: number; finding: Finding }> {
  await page.waitForSelector('.findings button');
  const texts = await page.$$eval('.findings button', (all) =>
    all.map((each) => (each.lastChild?.textContent ?? '').trim()),
  );
  const at = wanted % texts.length;
  return { nth: at + 1, finding: findings.find((finding) => findingInWords(finding) === texts[at])! };
}

/** Confirms the crew, files, and waits until the page says so. */
export async function fileReport(page: Page): Promise<void> {
  await page.click('.entry-actions button:has-text("Crew")');
  await page.click('dialog button:has-text("Confirm this crew")');
  await page.click('.entry-actions button:has-text("Check and file")');
  await pressFile(page);
  await page.waitForSelector('.entry-name .tag:text-is("filed")');
}

/** Files from the open dialog, also where it warns that the report is not whole. */
export async function pressFile(page: Page): Promise<void> {
  await page.click('dialog button:has-text("File the report")');
  const again = page.locator('dialog button:has-text("File all the same")');
  const filed = page.locator('.entry-name .tag:text-is("filed")');
  await again.or(filed).first().waitFor();
  if (await again.isVisible()) await again.click();
}

export async function allSent(page: Page): Promise<void> {
  await page.waitForSelector('.entry-sending.sent:has-text("All sent")');
}
