// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, BrowserContextOptions, Locator, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// Crews of the next season re-formed: by mouse, keys, finger, and without script.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let seasons: TwoSeasons;
let context: BrowserContext;
let page: Page;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

// Silver crew has its referee; Gold crew the umpire and the head linesman of the same games; the others and somebody new
// are in no crew.
beforeEach(async () => {
  seasons = await twoSeasons(database.pool);
  const { conferenceId, second } = seasons;
  const { rows } = await database.pool.query(
    `INSERT INTO crew (conference_id, season_id, name) VALUES ($1, $2, 'Gold crew') RETURNING id`,
    [conferenceId, second.id],
  );
  await database.pool.query(
    `INSERT INTO crew_member (conference_id, crew_id, position, person_id)
     SELECT conference_id, $2, position, person_id FROM working_crew_member
      WHERE conference_id = $1 AND game_id = $3 AND position IN ('umpire', 'head linesman')`,
    [conferenceId, rows[0].id, second.gameId],
  );
  await database.pool.query(
    `WITH person AS (INSERT INTO person (conference_id, given_name, family_name, email)
                     VALUES ($1, 'Nuru', 'Newcomer', 'nuru.newcomer@league.example') RETURNING id)
     INSERT INTO person_role (conference_id, person_id, role) SELECT $1, id, 'official' FROM person`,
    [conferenceId],
  );
});
afterEach(() => context?.close());

async function openBoard(options: BrowserContextOptions = {}): Promise<void> {
  context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  page = await context.newPage();
  const { conferenceId, coordinatorId: personId, second } = seasons;
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
  await page.goto(`${address}/seasons/${second.id}/next`);
  await page.getByLabel('First day of the first week').fill('2032-08-30');
  await page.getByLabel('Weeks', { exact: true }).fill('12');
}

/** Place 0 is Gold crew, 1 Silver crew, the others are empty. */
const seat = (crew: number, position: string) =>
  page.locator(`.seat[data-seat="crew-${crew}-${position.replaceAll(' ', '-')}"] .handle`);
const inList = (name: string) => page.locator('.no-crew li .handle', { hasText: name });
const listed = async () => {
  const names = await page.locator('.no-crew li .handle[data-person]').allTextContents();
  return names.map((text) => text.split(',')[0]);
};
const said = () => page.locator('.no-crew [role=status]').textContent();
const sits = async (at: Locator) => (await at.locator('.sitting').textContent())!.split(',')[0];

/** What is seen on the board: of each crew who sits where. */
const seen = () =>
  page.locator('[data-crew]').evaluateAll((crews) =>
    crews.flatMap((crew) => {
      const name = crew.querySelector<HTMLInputElement>('.crew-name input')!.value;
      return [...crew.querySelectorAll<HTMLElement>('.seat')].flatMap((box) => {
        const person = box.querySelector('.handle:not(.vacant) .sitting')?.textContent?.split(',')[0];
        return person ? [`${name}, ${box.dataset.position}: ${person}`] : [];
      });
    }),
  );

/** What the season that was opened holds. */
async function opened(): Promise<string[]> {
  const { rows } = await database.pool.query<{ seat: string }>(
    `SELECT c.name || ', ' || m.position || ': ' || p.family_name AS seat
       FROM season s JOIN crew c ON c.conference_id = s.conference_id AND c.season_id = s.id
       JOIN crew_member m ON m.conference_id = c.conference_id AND m.crew_id = c.id
       JOIN person p ON p.conference_id = m.conference_id AND p.id = m.person_id
      WHERE s.conference_id = $1 AND s.name = '2032'`,
    [seasons.conferenceId],
  );
  return rows.map((row) => row.seat);
}

async function submitsWhatIsSeen(): Promise<void> {
  const crews = await seen();
  await page.getByRole('button', { name: 'Open the new season' }).click();
  await page.waitForURL(`${address}/seasons`);
  expect((await opened()).sort()).toEqual(crews.sort());
}

async function look(name: string): Promise<void> {
  for (const width of [1280, 820, 390]) {
    await page.setViewportSize({ width, height: 900 });
    const wider = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    expect(wider, `${name}, beyond the window at ${width} px`).toBeLessThanOrEqual(0);
    const folder = process.env.PICTURES;
    if (folder) await page.screenshot({ path: `${folder}/${name}-${width}.png`, fullPage: true });
  }
  await page.setViewportSize({ width: 1280, height: 900 });
}

async function dragByMouse(from: Locator, to: Locator): Promise<void> {
  await from.scrollIntoViewIfNeeded();
  const [start, end] = [(await from.boundingBox())!, (await to.boundingBox())!];
  await page.mouse.move(start.x + start.width / 2, start.y + start.height / 2);
  await page.mouse.down();
  await page.mouse.move(start.x + start.width / 2 + 12, start.y + start.height / 2, { steps: 3 });
  await page.mouse.move(end.x + end.width / 2, end.y + end.height / 2, { steps: 8 });
  await page.mouse.up();
}

test('by mouse: seats exchange, an empty one takes, the list gives and takes, and the last step is undone', async () => {
  await openBoard();
  expect(await page.locator('.empty-seats').textContent()).toBe('13 seats are still empty.');
  expect(await inList('Newcomer').textContent()).toContain('new');
  expect(await inList('back judge').textContent()).toContain('usually back judge');

  await dragByMouse(seat(1, 'referee'), seat(0, 'umpire'));
  expect([await sits(seat(0, 'umpire')), await sits(seat(1, 'referee'))]).toEqual(['referee', 'umpire']);
  expect(await seat(0, 'umpire').textContent()).toContain('usually referee');
  expect(await said()).toBe(
    'referee, Test is umpire in Gold crew now. umpire, Test is referee in Silver crew.',
  );
  await dragByMouse(seat(1, 'referee'), seat(1, 'back judge'));
  expect([await sits(seat(1, 'referee')), await sits(seat(1, 'back judge'))]).toEqual([
    'nobody yet',
    'umpire',
  ]);
  // Who sat where somebody of the list comes is in the list; nobody else moved.
  await dragByMouse(inList('Newcomer'), seat(0, 'head linesman'));
  expect(await sits(seat(0, 'head linesman'))).toBe('Newcomer');
  expect(await listed()).toContain('head linesman');
  await dragByMouse(seat(0, 'umpire'), page.locator('.no-crew h3'));
  expect(await listed()).toContain('referee');
  expect(await page.locator('.empty-seats').textContent()).toBe('14 seats are still empty.');
  await page.getByRole('button', { name: 'Undo' }).click();
  expect(await sits(seat(0, 'umpire'))).toBe('referee');
  // Let go beside everything, nothing changes.
  const before = await seen();
  await dragByMouse(seat(0, 'umpire'), page.locator('h1'));
  expect(await seen()).toEqual(before);
  // Two clicks do the same as a drag.
  await seat(0, 'umpire').click();
  await seat(2, 'umpire').click();
  expect(await sits(seat(2, 'umpire'))).toBe('referee');
  expect(await page.locator('#wrong-crew-2').textContent()).toContain('Give the crew a name');
  await page.locator('input[name=crew-2]').fill('Bronze crew');
  expect(await page.locator('#wrong-crew-2').count()).toBe(0);
  await submitsWhatIsSeen();
  expect(await opened()).toContain('Bronze crew, umpire: referee');
});

test('by keys: picked up, carried over crews and positions, put down, let go, undone, and all of it said', async () => {
  await openBoard();
  await seat(0, 'umpire').focus();
  await page.keyboard.press('Enter');
  expect(await said()).toContain('umpire, Test, usually umpire, is picked up.');
  expect(await seat(0, 'umpire').getAttribute('aria-pressed')).toBe('true');
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('ArrowUp');
  expect(await said()).toBe(
    'Referee in Silver crew: exchange with referee, Test, who would be umpire in Gold crew.',
  );
  await look('crew-board-carried');
  expect(await accessibilityProblems(page)).toEqual([]);
  await page.keyboard.press('Space');
  expect([await sits(seat(0, 'umpire')), await sits(seat(1, 'referee'))]).toEqual(['referee', 'umpire']);

  // Escape lets go, and the next key goes on from where they sit.
  await page.keyboard.press('Enter');
  await page.keyboard.press('ArrowDown');
  await page.keyboard.press('Escape');
  expect(await said()).toBe('Let go. Nothing changed.');
  expect(await sits(seat(1, 'referee'))).toBe('umpire');
  await page.keyboard.press('Control+z');
  expect(await sits(seat(1, 'referee'))).toBe('referee');
  expect(await said()).toBe('The last step is undone.');

  // To the list, which lies behind the last crew, and from it.
  await seat(1, 'referee').focus();
  await page.keyboard.press('Enter');
  for (let i = 0; i < 6; i += 1) await page.keyboard.press('ArrowRight');
  expect(await said()).toBe('Here referee, Test would be in no crew.');
  await page.keyboard.press('Enter');
  expect(await listed()).toContain('referee');
  expect(await page.evaluate(() => document.activeElement?.textContent)).toContain('referee, Test');
  await page.keyboard.press('Enter');
  await page.keyboard.press('ArrowLeft');
  for (let i = 0; i < 4; i += 1) await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('Enter');
  expect((await seen()).filter((one) => one.endsWith(': referee'))).toHaveLength(1);
  await page.locator('input[name=crew-2]').fill('Third');
  await page.locator('input[name=crew-3]').fill('Fourth');
  await submitsWhatIsSeen();
});

test('who leaves empties their seat, is back there by undoing, and in the list when they stay after all', async () => {
  await openBoard();
  const leaves = page.getByLabel('umpire, Test leaves');
  await leaves.check();
  expect(await sits(seat(0, 'umpire'))).toBe('nobody yet');
  expect(await said()).toBe('umpire, Test leaves. Empty now: umpire in Gold crew.');
  expect(await listed()).not.toContain('umpire');
  await page.getByRole('button', { name: 'Undo' }).click();
  expect(await leaves.isChecked()).toBe(false);
  expect(await sits(seat(0, 'umpire'))).toBe('umpire');
  await leaves.check();
  await leaves.uncheck();
  expect(await sits(seat(0, 'umpire'))).toBe('nobody yet');
  expect(await listed()).toContain('umpire');
});

test('by a finger on a telephone: the grip drags, the rest of a handle scrolls', async () => {
  await openBoard({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
  const fingers = await context.newCDPSession(page);
  const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', x = 0, y = 0) =>
    fingers.send('Input.dispatchTouchEvent', { type, touchPoints: type === 'touchEnd' ? [] : [{ x, y }] });
  async function drag(from: Locator, to: Locator, whereItIs = true): Promise<void> {
    const middle = async (of: Locator) => {
      const { x, y, width, height } = (await of.boundingBox())!;
      return { x: x + width / 2, y: y + height / 2 };
    };
    const [start, end] = [await middle(from), await middle(to)];
    const at = (part: number) =>
      [start.x + part * (end.x - start.x), start.y + part * (end.y - start.y)] as const;
    await touch('touchStart', ...at(0));
    for (let i = 1; i <= 10; i += 1) await touch('touchMove', ...at(i / 10));
    // Near an edge the page scrolled on: a finger follows where it is to go.
    if (whereItIs) {
      const { x, y } = await middle(to);
      await touch('touchMove', x, y);
    }
    await touch('touchEnd');
  }
  await seat(0, 'referee').evaluate((one) => one.scrollIntoView({ block: 'start' }));
  await page.evaluate(() => scrollBy(0, -120));
  await drag(seat(0, 'umpire').locator('.grip'), seat(0, 'referee'));
  await expect
    .poll(async () => [await sits(seat(0, 'referee')), await sits(seat(0, 'umpire'))])
    .toEqual(['umpire', 'nobody yet']);
  await drag(inList('center judge').locator('.grip'), seat(0, 'umpire'));
  await expect.poll(() => sits(seat(0, 'umpire'))).toBe('center judge');
  const [before, top] = [await seen(), await page.evaluate(() => scrollY)];
  await drag(seat(0, 'head linesman').locator('.sitting'), seat(0, 'referee'), false);
  // The browser scrolls when it comes to it.
  await expect.poll(() => page.evaluate(() => scrollY)).toBeGreaterThan(top);
  expect(await seen()).toEqual(before);
  // A tap on each does the same.
  await seat(0, 'head linesman').tap();
  await seat(0, 'referee').tap();
  await expect
    .poll(async () => [await sits(seat(0, 'referee')), await sits(seat(0, 'head linesman'))])
    .toEqual(['head linesman', 'umpire']);
  if (process.env.PICTURES)
    await page.screenshot({ path: `${process.env.PICTURES}/crew-board-telephone.png` });
  await submitsWhatIsSeen();
});

test('who sits twice is told at once; a refused form comes back as it was, and can be mended', async () => {
  await openBoard();
  await page.getByRole('button', { name: 'Choose from lists' }).click();
  await page.locator('select[name=crew-1-umpire]').selectOption({ label: 'umpire, Test' });
  const beside = page.locator('#wrong-crew-1-umpire');
  expect(await beside.textContent()).toBe('umpire, Test is in crew Gold crew, as umpire already.');
  await page.getByLabel('back judge, Test leaves').check();
  await page.locator('input[name=crew-2]').fill('Bronze crew');
  const sent = await seen();
  await page.getByRole('button', { name: 'Open the new season' }).click();
  await page.waitForSelector('.notice.bad');
  expect(await page.locator('.notice.bad').textContent()).toContain('Nothing was opened yet.');
  expect(await beside.textContent()).toBe('umpire, Test is in crew Gold crew, as umpire already.');
  expect(await seen()).toEqual(sent);
  expect(await page.getByLabel('back judge, Test leaves').isChecked()).toBe(true);
  expect(await page.locator('input[name=crew-2]').inputValue()).toBe('Bronze crew');
  expect(await page.getByLabel('Weeks', { exact: true }).inputValue()).toBe('12');
  await look('crew-board-refused');
  expect(await accessibilityProblems(page)).toEqual([]);
  await dragByMouse(seat(0, 'umpire'), page.locator('.no-crew h3'));
  expect(await beside.count()).toBe(0);
  await submitsWhatIsSeen();
});

test('without script the lists say who sits where', async () => {
  await openBoard({ javaScriptEnabled: false });
  expect(await page.locator('.handle').count()).toBe(0);
  expect(await page.locator('.only-by-hand').isVisible()).toBe(false);
  await page.locator('select[name=crew-0-umpire]').selectOption({ label: 'Newcomer, Nuru' });
  await page.getByRole('button', { name: 'Open the new season' }).click();
  expect((await opened()).sort()).toEqual([
    'Gold crew, head linesman: head linesman',
    'Gold crew, umpire: Newcomer',
    'Silver crew, referee: referee',
  ]);
});
