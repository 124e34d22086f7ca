// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { manySittings } from '../quizzes/many-sittings.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { testApp } from '../support/test-app.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let context: BrowserContext;
let page: Page;
const complaints: string[] = [];
const personIds = {} as Record<'coordinator' | 'official', string>;

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  for (const role of ['coordinator', 'official'] as const) {
    const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM person WHERE email = $1', [
      database.signIns[role],
    ]);
    personIds[role] = rows[0]!.id;
  }
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});
beforeEach(async () => {
  await context?.close();
  context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  page = await context.newPage();
  // The content security policy refuses what a page should not have: the browser then complains here.
  complaints.length = 0;
  page.on('console', (message) => {
    if (message.type() === 'error') complaints.push(message.text());
  });
});

const as = async (role: 'coordinator' | 'official') => {
  const { conferenceId } = database;
  await signIn(
    context,
    address,
    await startSession(database.pool, { conferenceId, personId: personIds[role] }),
  );
};

async function expectSound(): Promise<void> {
  expect(await accessibilityProblems(page)).toEqual([]);
  expect(complaints).toEqual([]);
  for (const width of [1280, 820]) {
    await page.setViewportSize({ width, height: 900 });
    const wider = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    expect(wider, `beyond the window at ${width} px`).toBeLessThanOrEqual(0);
  }
}

describe('the standings', () => {
  test('draw each interval where its figures say, on the scale at the head of the column', async () => {
    await as('coordinator');
    await page.goto(`${address}/seasons/${database.seasonId}/standings?position=umpire`);
    const rows = page.locator('table.standings tbody tr');
    expect(await rows.count()).toBeGreaterThan(6);
    const ticks = await page
      .locator('table.standings thead svg text')
      .evaluateAll((all) =>
        all.map((text) => ({ value: Number(text.textContent), x: text.getBoundingClientRect() })),
      )
      .then((all) => all.map(({ value, x }) => ({ value, x: x.x + x.width / 2 })));
    const [first, last] = [ticks[0]!, ticks.at(-1)!];
    for (let i = 0; i < 3; i += 1) {
      const row = rows.nth(i);
      const grade = Number(await row.locator('td b').textContent());
      const dot = await row
        .locator('svg circle')
        .first()
        .evaluate((circle) => circle.getBoundingClientRect())
        .then(({ x, width }) => x + width / 2);
      const drawn = first.value + ((dot - first.x) / (last.x - first.x)) * (last.value - first.value);
      expect(Math.abs(drawn - grade)).toBeLessThan((last.value - first.value) / 50);
      expect(await row.locator('svg').getAttribute('aria-label')).toMatch(/90 % interval [\d.]+ to [\d.]+/);
    }
    await expectSound();
  });

  test('what they are read by can be touched on a tablet and a phone', async () => {
    await as('coordinator');
    await page.goto(`${address}/seasons/${database.seasonId}/standings`);
    for (const width of [820, 390]) {
      await page.setViewportSize({ width, height: 900 });
      const heights = await page
        .locator('.tabs a')
        .evaluateAll((links) => links.map((link) => link.getBoundingClientRect().height));
      expect(heights).toHaveLength(11);
      expect(Math.min(...heights), `${width} px`).toBeGreaterThanOrEqual(44);
    }
  });

  test('where quizzes count, the figure with them stands beneath each interval, also on a tablet', async () => {
    const { pool, conferenceId, seasonId } = database;
    await as('coordinator');
    const there = `${address}/seasons/${seasonId}/standings?position=referee`;
    await page.goto(there);
    expect(await page.locator('.with-quizzes').count()).toBe(0);
    const rows = page.locator('table.standings tbody tr');
    const idOf = async (row: number) =>
      /officials\/([^/]+)\/grade/.exec((await rows.nth(row).locator('th a').getAttribute('href'))!)![1]!;
    const grade = Number(await rows.first().locator('td b').textContent());
    const right = (count: number) => Array.from({ length: 20 }, (_, at) => (at < count ? 1 : 0)) as (0 | 1)[];
    await manySittings(pool, {
      ...{ conferenceId, seasonId, title: 'August rules', closesAt: new Date('2026-08-09T20:00:00Z') },
      taken: new Map([
        [await idOf(0), [right(10), right(18)]],
        [await idOf(1), [right(20)]],
      ]),
    });
    await pool.query(
      'INSERT INTO quiz_weight (conference_id, season_id, percent, announced_at) VALUES ($1, $2, 10, now())',
      [conferenceId, seasonId],
    );
    await page.goto(there);
    const told = async (row: number) =>
      (await rows.nth(row).locator('.with-quizzes').textContent())!.replaceAll(/\s+/g, ' ').trim();
    // By hand: nine tenths of the grade and a tenth of 18 of 20; the range is of the first answers, 10 of 20, up to the figure.
    const [, value, low, high] = /^with quizzes ([\d.]+), ([\d.]+) to ([\d.]+)$/
      .exec(await told(0))!
      .map(Number);
    expect(value).toBeCloseTo(0.9 * grade + 9, 1);
    expect(high).toBe(value);
    expect(low).toBeLessThan(0.9 * grade + 5 - 1.6449);
    expect(await told(2)).toBe('no quiz taken');
    expect(await page.locator('caption').first().textContent()).toContain('it enters no rank');
    expect(await page.textContent('main')).toContain('Where the best of several sittings counts');
    // In the order of grades from games: no rank moved.
    expect(Number(await rows.first().locator('td b').first().textContent())).toBe(grade);
    await expectSound();
    const inside = await page
      .locator('.scroll')
      .first()
      .evaluate((box) => box.scrollWidth - box.clientWidth);
    expect(inside, 'beyond the table at 820 px').toBeLessThanOrEqual(0);
    if (process.env.PICTURES)
      await page.screenshot({ path: `${process.env.PICTURES}/standings-quizzes-820.png`, fullPage: true });
    // By calls alone quizzes have no part.
    await page.goto(`${there}&by=calls`);
    expect(await page.locator('.with-quizzes').count()).toBe(0);
    await pool.query('DELETE FROM quiz_weight WHERE conference_id = $1', [conferenceId]);
  });

  test('an official reads the own evaluation on a phone without scrolling sideways', async () => {
    await as('official');
    await page.setViewportSize({ width: 390, height: 844 });
    const beyond = () =>
      page.evaluate(() =>
        [document.documentElement, ...document.querySelectorAll('main :not(thead, thead *)')]
          .filter((part) => part.scrollWidth > part.clientWidth + 1 && part.clientWidth > 1)
          .filter((part) => getComputedStyle(part).display !== 'inline')
          .map((part) => `${part.tagName} ${part.className} ${part.scrollWidth}`),
      );
    await page.goto(`${address}/my/evaluation`);
    const whole = page.getByRole('row').filter({ has: page.getByRole('rowheader', { name: 'Whole' }) });
    expect(await whole.first().getByRole('cell').count()).toBe(5);
    expect(await beyond()).toEqual([]);
    expect(await accessibilityProblems(page)).toEqual([]);
    await page.getByRole('link', { name: 'How this grade came about' }).first().click();
    await page.getByRole('heading', { name: 'Game by game' }).first().waitFor();
    await page.locator('details.duty-loss').first().click();
    expect(await beyond()).toEqual([]);
    expect(await accessibilityProblems(page)).toEqual([]);
  });

  test('a coordinator sets who is ranked, and a wrong number is answered beside its field', async () => {
    await as('coordinator');
    await page.goto(`${address}/seasons/${database.seasonId}/standings`);
    await page.getByText('Who is ranked, and for how many places').click();
    const games = page.getByLabel('Games graded, at least');
    await games.fill('0');
    await page.getByRole('button', { name: 'Apply to all positions' }).click();
    await page.getByText('Must be at least 1').waitFor();
    complaints.length = 0;
    await expectSound();
    await page.getByLabel('Games graded, at least').fill('50');
    await page.getByRole('button', { name: 'Apply to all positions' }).click();
    await page.getByRole('heading', { name: 'Listed without a rank' }).waitFor();
    await page.getByText('of at least 50 games graded').first().waitFor();
    await expectSound();
  });

  test('severity shows who is strict, with its interval', async () => {
    await as('coordinator');
    await page.goto(`${address}/seasons/${database.seasonId}/severity`);
    expect(await page.getByText('stricter than the others').count()).toBeGreaterThan(0);
    await expectSound();
    await page.getByRole('link', { name: 'Severity by position' }).click();
    await page.getByRole('heading', { level: 1, name: 'Severity by position' }).waitFor();
    await expectSound();
  });

  test('an official opens their grade down to the plays', async () => {
    await as('official');
    await page.goto(`${address}/my/evaluation`);
    await page.getByRole('link', { name: 'How this grade came about' }).first().click();
    const duty = page.locator('details.duty-loss').first();
    await duty.locator('summary').click();
    expect(await duty.locator('tbody tr').count()).toBeGreaterThan(0);
    await expectSound();
  });
});
