// @module-tag rest
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import type { Play } from '../../server/football/play.ts';
import { playOf } from '../../server/games/play-rows.ts';
import { freeKickDuty, plainPlay } from '../reports/one-game.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { allSent } from './support/entry-driver.ts';
import { EntryPages, type OneReport } from './support/one-report.ts';

// What is still undecided: the fact asked for where a mark meets it, and the two ways of working on a report.

let pages: EntryPages;
let report: OneReport;
let page: Page;

beforeAll(async () => {
  pages = await EntryPages.start();
});
afterAll(() => pages?.stop());

async function open(plays: readonly Play[]): Promise<void> {
  report = await pages.open(plays);
  page = report.page;
}
const goToPlay = (number: number) => page.click(`.entry-plays li:nth-child(${number}) button`);
const official = (letter: string) => page.click(`.officials button:has(.letter:text-is("${letter}"))`);
const facts = async (number: number) =>
  playOf(
    (
      await pages.database.pool.query('SELECT * FROM play WHERE conference_id = $1 AND number = $2', [
        report.game.conferenceId,
        number,
      ])
    ).rows[0],
  );

describe('a mark on a duty that is undecided', () => {
  beforeEach(async () => {
    await open([plainPlay(1), plainPlay(2)]);
    await goToPlay(1);
    return () => report.context.close();
  });
  const markUndecided = async (title: string) => {
    await page.click('.duties summary:has-text("Undecided")');
    await page.click(`.duties details .duty:has-text("${title}")`);
    await page.waitForSelector('.deciding');
  };
  const asked = () => page.textContent('.deciding legend');

  test('asks for the deciding fact there and then, and counts once it is told', async () => {
    await official('U');
    await markUndecided('Fumble or down');
    expect(await asked()).toBe('Was it owed? That takes one more fact: fumble or down in question');
    // What agrees with who marked it comes first.
    expect(
      await page.$$eval('.deciding [data-answer]', (all) => all.map((each) => each.textContent)),
    ).toEqual(['1 yesasks one more', '2 nothen not owed', '0 Leave openwill not count']);
    expect(await page.textContent('.mark-list')).toContain('will not count so far: undecided');
    expect(await accessibilityProblems(page)).toEqual([]);
    await page.click('.deciding button:has-text("yes")');
    await expect.poll(asked).toBe('Was it owed? That takes one more fact: ruled by');
    await page.click('.deciding button:has-text("umpire")');
    await page.waitForSelector('.deciding', { state: 'detached' });
    await page.waitForSelector('.duties > ol .duty:has-text("Fumble or down") .tag:text-is("wrong call")');
    expect(await page.textContent('.mark-list')).not.toContain('will not count');
    await allSent(page);
    expect(await facts(1)).toMatchObject({ fumbleOrDown: true, ruledBy: 'umpire' });
  });

  test('by keys alone: the official, the duty, the answer', async () => {
    await page.locator('#play-pane').focus();
    await page.keyboard.press('u');
    await page.click('.duties summary:has-text("Undecided")');
    const key = await page.textContent('.duties details .duty:has-text("Fumble or down") .key');
    await page.keyboard.press(key!.trim());
    await page.waitForFunction(() => document.activeElement?.closest('.deciding') !== null);
    await page.keyboard.press('2');
    await page.waitForSelector('.will-not-count:has-text("Not owed on this play.")');
    await allSent(page);
    expect((await facts(1)).fumbleOrDown).toBe(false);
  });

  test('may be left open, says what that means, and can be decided after all', async () => {
    await official('U');
    await markUndecided('Fumble or down');
    await page.click('.deciding button:has-text("Leave open")');
    await page.waitForSelector(
      '.will-not-count:has-text("leaves open whether it was owed. It takes: fumble or down in question.")',
    );
    await official('L');
    await official('U');
    await page.click('.mark-list button:has-text("Fumble or down")');
    expect(await page.locator('.deciding').count()).toBe(0);
    await page.click('.will-not-count button:has-text("Decide it now")');
    await page.click('.deciding button:has-text("no")');
    await page.waitForSelector('.will-not-count:has-text("Not owed on this play.")');
  });

  test('that the facts rule out says so and leads to them', async () => {
    await official('L');
    await page.selectOption('.other-duty select', { label: freeKickDuty.title });
    const told = page.locator('.will-not-count');
    await told.waitFor();
    expect(await told.textContent()).toContain(
      'Not owed on this play. It is owed when it is a free kick; logged is: kind of play pass. The mark is kept',
    );
    await told.getByRole('button', { name: 'Look at the facts' }).click();
    await expect.poll(() => page.evaluate(() => document.activeElement?.id)).toBe('fact-kind');
  });

  test('is asked nothing while working live', async () => {
    await page.click('.entry-way button:has-text("Live")');
    await official('U');
    await page.click('.duties summary:has-text("Undecided")');
    await page.click('.duties details .duty:has-text("Fumble or down")');
    await page.waitForSelector('.will-not-count:has-text("Will not count so far")');
    expect(await page.locator('.deciding').count()).toBe(0);
    await page.reload();
    await page.waitForSelector('.entry-way button:has-text("Live")[aria-pressed="true"]');
  });
});

describe('the way from film', () => {
  // The barer a play, the more it leaves undecided.
  const log: Play[] = [
    plainPlay(1),
    { kind: 'run', spot: 30, down: 1, distance: 10 },
    { ...plainPlay(3), passResult: 'incomplete' },
  ];
  beforeEach(async () => {
    await open(log);
    return () => report.context.close();
  });
  const listed = () =>
    page.$$eval('.entry-plays li', (all) =>
      all.map((each) => ({
        number: Number(each.querySelector('.play-number')!.textContent),
        undecided: Number(/(\d+) undecided/.exec(each.textContent!)?.[1] ?? 0),
      })),
    );
  const playInView = async () => Number(/Play (\d+)/.exec((await page.textContent('#play-title'))!)![1]);

  test('lists only plays with something undecided, most worth first, and goes from one to the next', async () => {
    const all = await listed();
    expect(all.map(({ number }) => number)).toEqual([1, 2, 3]);
    expect(await page.textContent('.entry-name')).toContain(
      `0 % of plays complete, ${all.reduce((sum, { undecided }) => sum + undecided, 0)} duties undecided`,
    );
    await page.click('.entry-way button:has-text("Live")');
    await page.click('.entry-way button:has-text("Later")');
    const later = await listed();
    expect(later).toEqual([...all].sort((a, b) => b.undecided - a.undecided));
    expect(later[0]!.number).toBe(2);
    await page.locator('#play-pane').focus();
    const visited: number[] = [];
    for (let at = 0; at < 3; at++) {
      await page.keyboard.press('p');
      visited.push(await playInView());
    }
    // From play 1, which was in view.
    expect(visited).toEqual([2, 3, 2]);
    await page.click('.undecided-plays button:has-text("Next")');
    expect(await playInView()).not.toBe(2);
    expect(await accessibilityProblems(page)).toEqual([]);
  });

  test('a play with nothing left leaves the list, and the share grows', async () => {
    await page.click('.entry-way button:has-text("Later")');
    const { rows } = await pages.database.pool.query<{ facts: Play }>(
      'SELECT facts FROM play WHERE conference_id = $1 AND number = 3',
      [report.game.conferenceId],
    );
    expect(rows).toHaveLength(1);
    for (let answered = 0; answered < 60; answered++) {
      // Each undecided duty in turn, answered by whatever decides it.
      const left = (await listed()).find(({ number }) => number === 3);
      if (!left) break;
      await page.click('.entry-plays li:has(.play-number:text-is("3")) button');
      const dots = page.locator('.officials button:has(.undecided-dot)');
      await dots.first().click();
      const undecided = page.locator('.duties details:has(summary:has-text("Undecided"))');
      await undecided.locator('summary').click();
      await undecided.locator('.duty').first().click();
      await page.waitForSelector('.deciding');
      const typed = page.locator('.deciding .typed-answer input');
      if (await typed.count()) {
        await typed.fill('5');
        await page.click('.deciding .typed-answer button');
      } else {
        const answers = page.locator('.deciding [data-answer]');
        const not = answers.filter({ hasText: 'then not owed' });
        await ((await not.count()) > 0 ? not.first() : answers.first()).click();
      }
    }
    expect((await listed()).map(({ number }) => number)).not.toContain(3);
    expect(await page.textContent('.entry-name')).toContain('33 % of plays complete');
  });
});
