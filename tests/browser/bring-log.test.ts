// @module-tag rest
import { mkdir, readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// An observer of a game without plays brings a log in a form of our own invention, in a real browser, and the same
// columns are known for the next one. Every state is held against WCAG 2.2 A and AA by axe-core
// (https://github.com/dequelabs/axe-core) and fits a phone.

const axeSource = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const standards = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let context: BrowserContext;
let game: OneGame;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  game = await oneGame(database.pool, []);
  browser = await launchChromium();
  context = await browser.newContext({ viewport: { width: 1280, height: 900 }, bypassCSP: true });
  await context.addInitScript({ content: axeSource });
  const { conferenceId, observerId: personId } = game;
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

const lines = Array.from({ length: 40 }, (_, at) => {
  const run = at % 3 !== 0;
  const clock = 900 - at * 20;
  return [
    at + 1,
    1,
    `${Math.floor(clock / 60)}:${String(clock % 60).padStart(2, '0')}`,
    at % 2 === 0 ? 'Home' : 'Visitors',
    (at % 4) + 1,
    10,
    at <= 30 ? -(20 + at) : 80 - at,
    run ? 'rush left' : 'throw',
    run ? '' : at % 2 === 0 ? 'caught' : 'dropped',
    3,
  ].join(',');
});
const file = ['Row,Period,Left,Ball,Try,Need,Field,What,How,Gain', ...lines, 'TOTAL,,,,,,,SUM,,120'].join(
  '\n',
);

const violations = (page: Page) =>
  page.evaluate(async (values) => {
    const { axe } = window as unknown as {
      axe: {
        run(of: Document, how: object): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }>;
      };
    };
    const found = await axe.run(document, { runOnly: { type: 'tag', values }, resultTypes: ['violations'] });
    return found.violations.map(
      ({ id, nodes }) =>
        `${id}: ${nodes
          .map(({ html }) => html)
          .join(' | ')
          .slice(0, 400)}`,
    );
  }, standards);

async function look(page: Page, name: string): Promise<void> {
  // Words can be read before the style sheet has come: then the link that leads past the menu has no size yet.
  await page.waitForLoadState('load');
  const wrong = await violations(page);
  for (const width of [820, 390]) {
    await page.setViewportSize({ width, height: 900 });
    const beyond = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    if (beyond > 0) wrong.push(`${beyond} px wider than a window of ${width} px`);
  }
  const folder = process.env.SCREENSHOTS;
  if (folder) {
    await mkdir(folder, { recursive: true });
    for (const width of [1280, 820, 390]) {
      await page.setViewportSize({ width, height: 900 });
      await page.screenshot({ path: `${folder}/${name}-${width}.png`, fullPage: true });
    }
  }
  await page.setViewportSize({ width: 1280, height: 900 });
  expect([name, wrong]).toEqual([name, []]);
}

test('from the empty report to the plays, and again for the next file', async () => {
  const page = await context.newPage();
  await page.goto(`${address}/my/games`);
  await page.getByRole('button', { name: /^Begin/ }).click();
  await page.waitForSelector('.entry');
  await page.getByRole('link', { name: 'Bring a play log' }).click();
  await page.waitForURL(/\/log$/);
  await look(page, 'file');

  const send = async (name: string) => {
    await page.setInputFiles('#file', { name, mimeType: 'text/csv', buffer: Buffer.from(file) });
    await page.getByRole('button', { name: 'Look at the file' }).click();
    await page.waitForURL(/\/log\/[0-9a-f-]{36}/);
  };
  await send('week 1.csv');
  await look(page, 'first sight');

  // Choosing a column shows at once what stands in it.
  const choose = async (label: string, column: string) => {
    const loaded = page.waitForEvent('load');
    await page.getByLabel(label, { exact: true }).selectOption({ label: column });
    await loaded;
  };
  await choose('Kind of play (needed)', 'What');
  await page.locator('select[name^="v:kind:"][name$=":rush left"]').selectOption('run');
  await page.locator('select[name^="v:kind:"][name$=":throw"]').selectOption('pass');
  await choose('Spot of the snap or kick (needed)', 'Field');
  await choose(
    'Spot of the snap or kick: how the file says it',
    'A yard line with a sign: minus is the own half, plus the other',
  );
  await choose('Team with the ball', 'Ball');
  await choose('Quarter', 'Period');
  await choose('Game clock', 'Left');
  await choose('Down', 'Try');
  await choose('Distance', 'Need');
  await choose('By column', 'What');
  await page.locator('fieldset.ticks').getByLabel('SUM').check();
  await page.getByText('What came of it').click();
  await choose('Pass', 'How');
  await page.locator('select[name^="v:passResult:"][name$=":caught"]').selectOption('complete');
  await page.locator('select[name^="v:passResult:"][name$=":dropped"]').selectOption('incomplete');
  await choose('Dead-ball spot', 'Gain');
  await choose('Dead-ball spot: how the file says it', 'Yards gained, from the spot');
  expect(await page.locator('.log-sum').textContent()).toMatch(/40 plays, 0 undecided, 1 left out/);
  await look(page, 'mapped');

  await page.getByLabel('Keep what you said of the columns as').fill('Our statistics');
  await page.getByRole('button', { name: 'Bring in 40 plays' }).click();
  await page.getByText('40 plays added').waitFor();
  await look(page, 'brought');
  await page.getByRole('link', { name: 'Go on with the report' }).click();
  await page.waitForSelector('.entry-plays li:nth-child(40)');

  await page.goto(`${address}/games/${game.gameId}/log`);
  await send('week 1 again.csv');
  await page.getByText('These columns are known').waitFor();
  await page.getByText('0 would be added, 0 changed').waitFor();
  await look(page, 'known again');
  await page.close();
});
