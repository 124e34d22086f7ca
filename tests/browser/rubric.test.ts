// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { testApp } from '../support/test-app.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

let context: BrowserContext;
let page: Page;
const as = async (role: 'coordinator' | 'observer' | 'official') => {
  const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM person WHERE email = $1', [
    database.signIns[role],
  ]);
  const { conferenceId } = database;
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId: rows[0]!.id }));
};
beforeEach(async () => {
  await context?.close();
  context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  page = await context.newPage();
});

const rubric = () => `${address}/seasons/${database.seasonId}/rubric`;

async function expectAccessible(): Promise<void> {
  expect(await accessibilityProblems(page)).toEqual([]);
}

describe('the rubric', () => {
  test('says what is expected of a position, in which situations, with what weight', async () => {
    await as('official');
    await page.goto(`${rubric()}?position=line%20judge`);
    expect(await page.textContent('h1')).toBe('What is expected of the line judge');
    const row = page.locator('tr', { hasText: 'Break back on the reverse goal line' });
    expect(await row.textContent()).toContain(
      "the ball is snapped between the offense's goal line and its 5",
    );
    expect(await row.locator('td[data-label="Weight"]').textContent()).toBe('3');
    expect(await page.locator('text=Add a duty').count()).toBe(0);
    await expectAccessible();
    await row.getByRole('link').click();
    expect(await page.textContent('h1')).toBe('Break back on the reverse goal line');
    await expectAccessible();
  });

  test('of a smaller crew says for whom a position covers', async () => {
    await as('observer');
    await page.goto(`${rubric()}?position=umpire&crew=7`);
    const row = page.locator('tr', { hasText: 'Place the ball promptly' });
    expect(await row.textContent()).toContain('covers for the center judge');
    expect((await page.goto(`${rubric()}/add`))!.status()).toBe(403);
  });
});

describe('the form for a duty', () => {
  test('refuses beside the field, keeps what was entered, shows what it would do, then saves', async () => {
    await as('coordinator');
    await page.goto(`${rubric()}?position=line%20judge`);
    await page.getByRole('link', { name: 'Add a duty' }).click();
    await expectAccessible();
    await page.getByLabel('Title').fill('Count the offense aloud');
    await page.getByLabel('Is expected to …').fill('count the offense before the snap');
    await page.getByRole('checkbox', { name: 'Umpire' }).check();
    await page.getByLabel('When all of these hold, 1').selectOption({ label: 'it is a run' });
    await page.getByLabel('When all of these hold, 2').selectOption({ label: 'it is a punt' });
    await page.getByRole('button', { name: 'See what it would do' }).click();
    const refusal = page.locator('fieldset', { hasText: 'When all of these hold' }).getByRole('alert');
    expect(await refusal.textContent()).toBe(
      'the duty can never apply: no play can have "it is a run" together with "it is a punt"',
    );
    expect(await page.getByLabel('Title').inputValue()).toBe('Count the offense aloud');
    await expectAccessible();

    await page.getByLabel('When all of these hold, 2').selectOption('');
    await page.getByRole('button', { name: 'See what it would do' }).click();
    const { rows } = await database.pool.query<{ runs: number }>(
      `SELECT count(*)::int AS runs FROM play
        WHERE (kind = 'run' OR kind = 'try' AND facts->>'tryBy' = 'run') AND removed_at IS NULL`,
    );
    expect(await page.locator('.figure').first().textContent()).toBe(String(rows[0]!.runs));
    await expectAccessible();

    // An edit after the preview is shown first, not saved unseen.
    await page.getByLabel('Weight').fill('2.5');
    await page.getByRole('button', { name: 'Save the duty' }).click();
    expect(await page.getByRole('alert').textContent()).toContain(
      'You changed the duty since you last looked',
    );
    await page.getByLabel('Why').fill('Twelve men twice last week');
    await page.getByRole('button', { name: 'Save the duty' }).click();
    expect(await page.getByRole('status').textContent()).toBe('The duty was added.');
    expect(await page.textContent('h1')).toBe('What is expected of the umpire');
    expect(await page.locator('tr', { hasText: 'Count the offense aloud' }).textContent()).toContain('2.5');
    expect(await page.locator('tr', { hasText: 'Twelve men twice last week' }).textContent()).toMatch(/^2/);
  });

  test('shows what a weight would do to the standings before it is applied, and applies it to no filed report', async () => {
    await as('coordinator');
    const { rows: before } = await database.pool.query(
      'SELECT id, rubric_version_id FROM report ORDER BY id',
    );
    await page.goto(`${rubric()}/duties/dead-ball-signal/change`);
    await page.getByLabel('Weight').fill('20');
    await page.getByRole('button', { name: 'See what it would do' }).click();
    expect(
      await page.getByRole('heading', { name: 'What the weight would do to the standings' }).count(),
    ).toBe(1);
    expect(
      await page.locator('table', { hasText: 'Ranks that would change' }).locator('tbody tr').count(),
    ).toBeGreaterThan(0);
    await expectAccessible();
    await page.getByRole('button', { name: 'Save the duty' }).click();
    expect(await page.getByRole('status').textContent()).toBe('The duty was changed.');
    const { rows: after } = await database.pool.query('SELECT id, rubric_version_id FROM report ORDER BY id');
    expect(after).toEqual(before);
  });

  test('tells when somebody else changed the duty in the meantime, and keeps the entries', async () => {
    await as('coordinator');
    const change = `${rubric()}/duties/stop-the-clock/change`;
    await page.goto(change);
    const other = await context.newPage();
    for (const [where, weight] of [
      [other, '4'],
      [page, '5'],
    ] as const) {
      if (where === other) await other.goto(change);
      await where.getByLabel('Weight').fill(weight);
      await where.getByRole('button', { name: 'See what it would do' }).click();
      await where.getByRole('button', { name: 'Save the duty' }).click();
    }
    expect(await page.getByRole('alert').textContent()).toContain('changed in the meantime');
    expect(await page.getByLabel('Weight').inputValue()).toBe('5');
  });
});

describe('a play', () => {
  test('shows who owed what and the facts that decided it', async () => {
    await as('coordinator');
    await page.goto(`${rubric()}/duties/goal-line-at-the-snap`);
    await page.getByRole('link', { name: 'example 1' }).click();
    const lineJudge = page.locator('section', { hasText: 'Line judge (L)' });
    expect(await lineJudge.textContent()).toContain('On the goal line at the snap');
    expect(await lineJudge.textContent()).toMatch(/spot of the snap or kick: opponent's [1-5]\)/);
    await expectAccessible();
    await page.getByRole('link', { name: /^Plays of/ }).click();
    expect(await page.locator('tbody tr').count()).toBeGreaterThan(120);
    await expectAccessible();
  });
});
