import type { Page } from 'playwright-core';
import type { Finding } from '../../../server/duties/finding.ts';
import { nextPlay } from '../../../server/football/next-play.ts';
import type { Play } from '../../../server/football/play.ts';
import { type Position, positionLetter, positions } from '../../../server/football/positions.ts';

/** What an observer is going to enter, play by play, made from a seed. */
export interface PlannedPlay {
  kind: 'run' | 'pass' | 'kickoff';
  gain: number;
  marks: { position: Position; duty: number; finding: number; comment: string }[];
}

export interface EnteredMark {
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

export function planGame(plays: number, marks: number, seed: number): PlannedPlay[] {
  const random = seeded(seed);
  const below = (n: number) => Math.floor(random() * n);
  const planned: PlannedPlay[] = Array.from({ length: plays }, (_, at) => ({
    kind: at === 0 ? 'kickoff' : random() < 0.5 ? 'run' : 'pass',
    gain: below(9) - 1,
    marks: [],
  }));
  for (let made = 0; made < marks; ) {
    const play = planned[1 + below(plays - 1)]!;
    const position = positions[below(positions.length)]!;
    if (play.marks.some((mark) => mark.position === position)) continue;
    const comment = `Mark ${made + 1}: ${['late', 'early', 'wide of the spot', 'turned away'][below(4)]}.`;
    play.marks.push({ position, duty: below(9), finding: below(4), comment });
    made++;
  }
  return planned;
}

/** Enters a planned game on the page by pointer or by keyboard alone; `between` runs after every play. */
export async function enterGame(
  page: () => Page,
  planned: readonly PlannedPlay[],
  by: 'pointer' | 'keyboard',
  between: (play: number) => Promise<void> = async () => {},
): Promise<Entered> {
  const entered: Entered = { plays: [], marks: [], presses: [] };
  for (const [at, plan] of planned.entries()) {
    const start = nextPlay(entered.plays.at(-1));
    const play: Play =
      plan.kind === 'kickoff'
        ? { ...start, kickResult: 'touchback' }
        : { ...start, kind: plan.kind, endSpot: Math.max(1, Math.min(99, start.spot + plan.gain)) };
    if (by === 'pointer') await typePlayByPointer(page(), at + 1, play, plan);
    else await typePlayByKeyboard(page(), start, play, plan);
    entered.plays.push(play);
    for (const mark of plan.marks) {
      const made = by === 'pointer' ? await markByPointer(page(), mark) : await markByKeyboard(page(), mark);
      entered.presses.push(made.presses);
      entered.marks.push({
        play: at + 1,
        position: mark.position,
        title: made.title,
        finding: made.finding,
        comment: mark.comment,
      });
    }
    await between(at + 1);
  }
  return entered;
}

async function typePlayByPointer(page: Page, number: number, play: Play, plan: PlannedPlay): Promise<void> {
  await page.click('.entry-actions button:has-text("New play")');
  // The observer looks where they are; a tap that went astray is a failure here, not something to repeat.
  await page.waitForSelector(`#play-title:text-matches("^Play ${number}\\\\b")`, { timeout: 10_000 });
  if (plan.kind === 'kickoff') {
    await page.selectOption('#fact-kickResult', 'touchback');
    return;
  }
  await page.selectOption('#fact-kind', plan.kind);
  await page.fill('#fact-endSpot', String(play.endSpot));
  await page.locator('#fact-endSpot').blur();
}

async function typePlayByKeyboard(page: Page, start: Play, play: Play, plan: PlannedPlay): Promise<void> {
  const press = (key: string) => page.keyboard.press(key);
  const tabTo = async (id: string) => {
    for (let presses = 0; presses < 30; presses++) {
      if ((await page.evaluate(() => document.activeElement?.id)) === id) return;
      await press('Tab');
    }
    throw new Error(`Tab does not reach #${id}`);
  };
  await press('n');
  await page.waitForFunction(() => document.activeElement?.id === 'fact-kind');
  if (plan.kind === 'kickoff') {
    await tabTo('fact-kickResult');
    await page.keyboard.type('tou');
  } else {
    if (start.kind !== plan.kind) await page.keyboard.type(plan.kind === 'run' ? 'ru' : 'pa');
    await tabTo('fact-endSpot');
    await page.keyboard.type(String(play.endSpot));
  }
  await press('Escape');
  await page.waitForFunction(() => document.activeElement?.id === 'play-pane');
}

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
  await tap(`.duties li:nth-child(${nth}) > .duty`);
  const finding = await findingAt(page, mark.finding);
  await tap(`.findings button:nth-of-type(${finding.nth})`);
  await typeComment(page, mark.comment);
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
  await press(String(finding.nth));
  await typeComment(page, mark.comment);
  await press('Enter');
  await page.waitForFunction(() => document.activeElement?.closest('.officials') !== null);
  return { presses, title, finding: finding.finding };
}

async function dutyAt(page: Page, wanted: number): Promise<{ nth: number; title: string }> {
  await page.waitForSelector('.duties .duty');
  const titles = await page.$$eval('.duties .duty .duty-text', (all) =>
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
  return { nth: at + 1, finding: texts[at] as Finding };
}

async function typeComment(page: Page, comment: string): Promise<void> {
  await page.waitForFunction(() => document.activeElement?.id === 'mark-comment');
  await page.keyboard.insertText(comment);
}

/** Confirms the crew, files, and waits until the page says so. */
export async function fileReport(page: Page): Promise<void> {
  await page.click('.entry-actions button:has-text("Crew")');
  await page.click('dialog button:has-text("Confirm this crew")');
  await page.click('.entry-actions button:has-text("Check and file")');
  await page.click('dialog button:has-text("File the report")');
  await page.waitForSelector('.entry-name .tag:text-is("filed")', { timeout: 30_000 });
}

export async function allSent(page: Page, timeout = 60_000): Promise<void> {
  await page.waitForSelector('.entry-sending.sent:has-text("All sent")', { timeout });
}
