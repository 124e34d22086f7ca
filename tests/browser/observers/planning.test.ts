// @module-tag rest
import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startSession } from '../../../server/accounts/session.ts';
import { makeSeason, type SeasonFixture } from '../../observers/season-fixture.ts';
import { makePerson, type TestPerson } from '../../support/people.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';
import { launchChromium, signIn } from '../support/chromium.ts';

let database: TestDatabase;
let app: FastifyInstance;
let browser: Browser;
let season: SeasonFixture;
let coordinator: TestPerson;
let address: string;
let axeSource: string;

beforeAll(async () => {
  database = await testDatabase();
  season = await makeSeason(database);
  coordinator = await makePerson(database.pool, season.conferenceId, ['coordinator']);
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  axeSource = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function contextOf(person: TestPerson, width = 1280): Promise<BrowserContext> {
  const context = await browser.newContext({ viewport: { width, height: 900 }, bypassCSP: true });
  await signIn(context, address, await startSession(database.pool, person));
  return context;
}

/** Presses Tab until the named link, button or field has the focus, as somebody without a pointer does. */
async function tabTo(page: Page, name: string): Promise<void> {
  for (let presses = 0; presses < 150; presses += 1) {
    await page.keyboard.press('Tab');
    const focused = await page.evaluate(() => {
      const element = document.activeElement as HTMLInputElement | null;
      if (!element) return '';
      const labels = [...(element.labels ?? [])].map((label) => label.textContent ?? '').join(' ');
      return `${element.getAttribute('aria-label') ?? ''} ${labels} ${element.textContent ?? ''}`
        .replaceAll(/\s+/g, ' ')
        .trim();
    });
    if (focused.startsWith(name)) return;
  }
  throw new Error(`"${name}" cannot be reached by Tab`);
}

const standing = async (week: number) =>
  (
    await database.pool.query(
      `SELECT p.family_name AS name, a.how, a.answer, a.override_reason AS reason
         FROM observer_assignment a
         JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
         JOIN person p ON p.conference_id = a.conference_id AND p.id = a.observer_id
        WHERE a.conference_id = $1 AND g.week = $2 AND a.answer <> 'declined' ORDER BY g.key`,
      [season.conferenceId, week],
    )
  ).rows;

describe('planning observers', () => {
  it('goes by keyboard alone: suggestion taken, an observer replaced with the cost in sight, one answered', async () => {
    const page = await (await contextOf(coordinator)).newPage();
    await page.goto(`${address}/observers/weeks/2`);
    await tabTo(page, 'Suggest this week');
    await page.keyboard.press('Enter');
    await page.waitForURL(/plan=week/);
    expect(await page.textContent('main')).toContain('It is proven to be the best within the rules');
    await tabTo(page, 'Offer the ticked games');
    await page.keyboard.press('Enter');
    await page.waitForURL(/done=/);
    expect(await page.textContent('[role=status]')).toBe('2 assignments offered, 0 taken back.');
    expect((await standing(2)).map(({ name, how, answer }) => [name, how, answer])).toEqual([
      ['N0', 'in person', 'offered'],
      ['N2', 'in person', 'offered'],
    ]);

    await tabTo(page, 'Replace Observer N0');
    await page.keyboard.press('Enter');
    await page.waitForURL(/place/);
    const row = page.locator('tr', { hasText: 'Observer N1 in person' }).first();
    expect(await row.textContent()).toMatch(/69 mi \(111 km\).*\+69/s);
    // Tab reaches the group of choices once; the arrow keys move in it.
    await tabTo(page, 'Observer N');
    for (let presses = 0; presses < 10; presses += 1) {
      if (await row.locator('input').isChecked()) break;
      await page.keyboard.press('ArrowDown');
    }
    await tabTo(page, 'Offer the game');
    await page.keyboard.press('Enter');
    await page.waitForURL(/done=/);
    expect((await standing(2)).map(({ name }) => name)).toEqual(['N1', 'N2']);

    const own = await (await contextOf(season.observers[1]!)).newPage();
    await own.goto(`${address}/my/assignments`);
    await tabTo(own, 'Accept Team 1 at Team 0');
    await own.keyboard.press('Enter');
    await own.waitForSelector('text=Coming up');
    expect((await standing(2))[0]).toMatchObject({ name: 'N1', answer: 'accepted' });
  });

  it('warns by pointer too when a choice breaks a rule, and keeps the reason', async () => {
    const page = await (await contextOf(coordinator)).newPage();
    await page.goto(`${address}/observers/weeks/2`);
    const grid = page.locator('table.grid');
    const busy = grid.locator('tr', { hasText: 'Observer N2' }).getByRole('link').first();
    expect(await busy.textContent()).toBe('elsewhere');
    await busy.click();
    // Opened from the grid, the choice is picked and the rule that it breaks is in sight.
    await page.locator('label', { hasText: 'Observer N2 in person' }).click();
    await page.click('button:has-text("Offer the game")');
    expect(await page.textContent('[role=alert]')).toContain('is at another game on 2027-09-11');
    expect(
      await page.locator('label', { hasText: 'Observer N2 in person' }).locator('input').isChecked(),
    ).toBe(true);
    await page.fill('#reason', 'The games are at one stadium that day.');
    await page.click('button:has-text("Offer the game")');
    await page.waitForURL(/done=/);
    expect(await page.textContent('main')).toContain('Your reason: The games are at one stadium that day.');
    expect((await standing(2)).map(({ name, reason }) => [name, reason])).toContainEqual([
      'N2',
      'The games are at one stadium that day.',
    ]);
  });

  it.each([1280, 820])('has no accessibility violation and no sideways scroll at %i px', async (width) => {
    const [, , game] = season.games;
    const pages: [TestPerson, string[]][] = [
      [
        coordinator,
        [
          '/observers/weeks/1',
          '/observers/weeks/2',
          '/observers/weeks/2?plan=rest',
          `/observers/games/${game!.id}/place`,
          '/observers/coverage',
          '/observers/people',
          `/observers/people/${season.observers[0]!.personId}`,
          '/observers/settings',
        ],
      ],
      [season.observers[2]!, ['/my/assignments', '/my/availability']],
    ];
    for (const [person, paths] of pages) {
      const context = await contextOf(person, width);
      const page = await context.newPage();
      for (const path of paths) {
        const answer = await page.goto(address + path);
        expect([path, answer?.status()]).toEqual([path, 200]);
        await page.evaluate(axeSource);
        const violations = await page.evaluate(async () => {
          const { axe } = window as unknown as {
            axe: {
              run(
                root: Document,
                options: object,
              ): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }>;
            };
          };
          const found = await axe.run(document, {
            runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'],
          });
          return found.violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html}`);
        });
        expect([path, violations]).toEqual([path, []]);
        const over = await page.evaluate(
          () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
        );
        expect([path, over]).toEqual([path, 0]);
      }
      await context.close();
    }
  });
});
