// @module-tag rest
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { type Position, positions } from '../../server/football/positions.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { allSent } from './support/entry-driver.ts';
import { EntryPages, type OneReport } from './support/one-report.ts';

// Whom the observer watches, said on the field: for the game, from a play on, between two plays.

let pages: EntryPages;
let report: OneReport;
let page: Page;

beforeAll(async () => {
  pages = await EntryPages.start();
});
afterAll(() => pages?.stop());
beforeEach(async () => {
  report = await pages.open(12);
  page = report.page;
  return () => report.context.close();
});

const goToPlay = (number: number) => page.click(`.entry-plays li:nth-child(${number}) button`);
const official = (letter: string) => page.locator(`.officials button:has(.letter:text-is("${letter}"))`);
const hatched = () =>
  page.$$eval('.officials .unwatched .letter', (all) => all.map((each) => each.textContent).join(''));
const kept = async () =>
  (await pages.database.pool.query('SELECT watched FROM report WHERE id = $1', [report.reportId])).rows[0]
    .watched;
const allBut = (...left: Position[]) => positions.filter((position) => !left.includes(position));

describe('whom one watches', () => {
  test('is said by touch, one for each', async () => {
    await pages.database.pool.query('UPDATE report SET watched = NULL WHERE id = $1', [report.reportId]);
    await page.reload();
    await page.waitForSelector('#report-entry[data-ready]');
    expect(await page.textContent('.watch-switch')).toContain('Watched: not said');
    await page.click('.watch-switch');
    // First of all, of the whole game.
    await page.waitForSelector('.watch-scopes button:has-text("Whole game")[aria-pressed="true"]');
    await official('B').click();
    await expect.poll(hatched).toBe('B');
    await allSent(page);
    expect(await kept()).toEqual({ positions: allBut('back judge'), stretches: [] });

    await page.click('.watching button:has-text("Done")');
    await goToPlay(5);
    await page.click('.watch-switch');
    await page.waitForSelector('.watch-scopes button:has-text("From play 5 on")[aria-pressed="true"]');
    await official('S').click();
    await expect.poll(hatched).toBe('SB');
    await allSent(page);
    expect(await kept()).toEqual({
      positions: allBut('back judge'),
      stretches: [{ from: report.game.playIds[4], to: null, positions: allBut('side judge', 'back judge') }],
    });
    await page.waitForSelector(
      '.watching:has-text("Watched: everybody but back judge; from play 5 everybody but side judge, back judge.")',
    );
    expect(await accessibilityProblems(page)).toEqual([]);

    await page.click('.watch-scopes button:has-text("Between two plays")');
    await page.selectOption('.watching label:has-text("From") select', { label: 'play 2' });
    await page.selectOption('.watching label:has-text("To, both included") select', { label: 'play 3' });
    await page.click('.watching button:has-text("Nobody")');
    await allSent(page);
    expect((await kept()).stretches[0]).toEqual({
      from: report.game.playIds[1],
      to: report.game.playIds[2],
      positions: [],
    });
    // The play in view is not one of them.
    expect(await hatched()).toBe('SB');
    await goToPlay(3);
    await expect.poll(hatched).toBe('RUCHLSFB');
    await goToPlay(4);
    await expect.poll(hatched).toBe('B');
  });

  test('is said by keys: w, what for, the letters', async () => {
    await goToPlay(4);
    await page.locator('#play-pane').focus();
    for (const key of ['w', '1', 'f', 'b', 'w']) await page.keyboard.press(key);
    await expect.poll(hatched).toBe('FB');
    await allSent(page);
    expect((await kept()).stretches).toEqual([
      { from: report.game.playIds[3], to: null, positions: allBut('field judge', 'back judge') },
    ]);
    // It is over: the same letter chooses the official.
    await page.keyboard.press('u');
    await page.waitForSelector('.duties');
    await page.keyboard.press('Escape');
    for (const key of ['w', '2', 'e', 'w']) await page.keyboard.press(key);
    await expect.poll(hatched).toBe('');
    await allSent(page);
    expect(await kept()).toEqual({ positions: [...positions], stretches: [] });
    await page.keyboard.press('Control+z');
    await expect.poll(hatched).toBe('FB');
  });

  test('leaves out what was not watched: in words, in the share, at a mark', async () => {
    await goToPlay(7);
    expect(await page.textContent('.entry-name')).toContain('100 % watched');
    await official('L').click();
    await page.click('.duties .duty:has-text("Everybody watches players")');
    await page.keyboard.press('Escape');
    await page.keyboard.press('Escape');
    for (const key of ['w', '1', 'l', 'w']) await page.keyboard.press(key);
    await page.waitForSelector('.mark-list:has-text("will not count: not watched")');
    expect(await official('L').textContent()).toContain('owed, 1 marked, not watched, line judge');
    expect(await page.textContent('.watch-switch')).toContain('Watched: 7 of 8');
    const share = Number(/(\d+) % watched/.exec((await page.textContent('.entry-name'))!)![1]);
    expect(share).toBeGreaterThan(80);
    expect(share).toBeLessThan(100);
    await page.click('.mark-list button');
    await page.waitForSelector(
      '.will-not-count:has-text("You have said that you do not watch the line judge")',
    );
  });

  test('is asked for at filing, and led to', async () => {
    await pages.database.pool.query('UPDATE report SET watched = NULL WHERE id = $1', [report.reportId]);
    await page.reload();
    await page.waitForSelector('#report-entry[data-ready]');
    await page.click('.entry-actions button:has-text("Check and file")');
    await page.click('dialog .missing button:has-text("Say whom you watched")');
    await page.waitForSelector('.watching');
    await page.click('.watching button:has-text("Everybody")');
    await allSent(page);
    expect((await kept()).positions).toHaveLength(8);
  });
});
