// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import type { Play } from '../../server/football/play.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// The drawn play on a phone: the whole picture in sight, its letters large enough to read.

const plays: Play[] = [
  {
    kind: 'free kick',
    spot: 35,
    offense: 'home',
    kickResult: 'returned',
    kickTo: 97,
    kickSide: 'line judge side',
    endSpot: 73,
    endSide: 'middle',
    score: 'none',
  },
  {
    kind: 'run',
    spot: 98,
    down: 3,
    distance: 2,
    offense: 'visitor',
    endSpot: 100,
    endSide: 'head linesman side',
    score: 'touchdown',
  },
  { kind: 'pass', spot: 3 },
];

let database: TestDatabase;
let app: FastifyInstance;
let browser: Browser;
let page: Page;
let game: OneGame;
let address: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  game = await oneGame(database.pool, plays);
  browser = await launchChromium();
  const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
  const { conferenceId, coordinatorId: personId } = game;
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
  page = await context.newPage();
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

test.each(plays.map(({ kind }, at) => [kind, at] as const))('a %s fits a phone', async (_kind, at) => {
  await page.goto(`${address}/games/${game.gameId}/plays/${game.playIds[at]}/duties`);
  // Measured in the page's own font: on a busy machine it comes after the page.
  await page.evaluate(() => document.fonts.ready.then(() => undefined));
  expect(await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth)).toBe(0);
  const found = await page.evaluate(() => {
    const svg = document.querySelector<SVGSVGElement>('svg.football-field')!;
    const frame = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll('text')];
    const scale = frame.width / svg.viewBox.baseVal.width;
    return {
      smallest: Math.min(...texts.map((text) => Number.parseFloat(getComputedStyle(text).fontSize) * scale)),
      outside: [...svg.querySelectorAll('text, circle, rect')]
        .map((part) => part.getBoundingClientRect())
        .filter((part) => part.left < frame.left - 1 || part.right > frame.right + 1).length,
      wrapped: [...document.querySelectorAll('.field-key a')].filter(
        (link) =>
          link.getBoundingClientRect().height > 50 || link.scrollWidth > link.parentElement!.clientWidth,
      ).length,
      fromTheSheet: getComputedStyle(svg.querySelector('.field-disc')!).strokeWidth,
    };
  });
  expect(found.smallest).toBeGreaterThan(11);
  expect(found.outside).toBe(0);
  expect(found.wrapped).toBe(0);
  expect(found.fromTheSheet).toBe('2px');
});
