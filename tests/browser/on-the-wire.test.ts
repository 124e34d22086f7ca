// @module-tag rest
import type { Socket } from 'node:net';
import type { BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { oneGame } from '../reports/one-game.ts';
import { signIn } from './support/chromium.ts';
import { EntryPages } from './support/one-report.ts';

// What a browser loads that comes for the first time, counted as the server wrote it into its connections: heads and
// bodies, the worker's requests too. The limits are our own: some seconds on the network of a full stadium.

let pages: EntryPages;
const connections = new Set<Socket>();
const sent = () => [...connections].reduce((sum, { bytesWritten }) => sum + bytesWritten, 0);

beforeAll(async () => {
  pages = await EntryPages.start();
  pages.app.server.on('connection', (connection) => connections.add(connection));
});
afterAll(() => pages?.stop());

async function visit(context: BrowserContext, path: string, whole: (page: Page) => Promise<unknown>) {
  const before = sent();
  const page = await context.newPage();
  await page.addInitScript(() => {
    const shifts: number[] = [];
    Object.assign(window, { shifts });
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries()) shifts.push((entry as unknown as { value: number }).value);
    }).observe({ type: 'layout-shift', buffered: true });
  });
  await page.goto(`${pages.address}${path}`);
  await whole(page);
  await page.waitForLoadState('networkidle');
  const shifted = await page.evaluate(() =>
    (window as unknown as { shifts: number[] }).shifts.reduce((sum, one) => sum + one, 0),
  );
  return { page, bytes: sent() - before, shifted };
}

describe('a first visit', () => {
  test('the sign-in page takes less than 60 kB, its font among them, and nothing moves', async () => {
    const context = await pages.browser.newContext();
    const { page, bytes, shifted } = await visit(context, '/sign-in', (page) =>
      page.waitForSelector('input[type=password]'),
    );
    const fonts = await page.evaluate(() =>
      document.fonts.ready.then(() => [...document.fonts].filter(({ status }) => status === 'loaded').length),
    );
    expect(fonts).toBe(1);
    expect(bytes).toBeGreaterThan(30_000);
    expect(bytes).toBeLessThan(60_000);
    expect(shifted).toBe(0);
    await context.close();
  });

  test('the entry page takes less than 150 kB with all that is kept to open it without a network', async () => {
    const game = await oneGame(pages.database.pool, 2);
    const context = await pages.browser.newContext();
    const who = { conferenceId: game.conferenceId, personId: game.observerId };
    const reportId = await openReport(pages.database.pool, who, game);
    await signIn(context, pages.address, await startSession(pages.database.pool, who));
    const entry = `/reports/${reportId}/entry`;
    const first = await visit(context, entry, async (page) => {
      await page.waitForSelector('#report-entry[data-ready]');
      await page.waitForFunction(async (entry) => (await caches.match(entry)) !== undefined, entry);
    });
    expect(await first.page.locator('.entry-plays li').count()).toBe(2);
    expect(first.bytes).toBeGreaterThan(100_000);
    expect(first.bytes).toBeLessThan(150_000);

    // Again: only what may have changed is asked for.
    const again = await visit(context, entry, (page) => page.waitForSelector('#report-entry[data-ready]'));
    expect(again.bytes).toBeLessThan(20_000);
    await context.close();
  });
});
