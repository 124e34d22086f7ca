// @module-tag rest
import { mkdir } from 'node:fs/promises';
import axe from 'axe-core';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { testApp } from '../support/test-app.ts';
import { leaveOutRepeats } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// Every page that an official and an observer can reach, and everybody's desk, on a telephone 390 px wide: nothing is
// pushed sideways, what is touched is 44 px high (WCAG 2.2, 2.5.5), and the system's dark colours keep the contrast of
// level AA. A new page is found by the links that lead to it.

const width = 390;
type Role = 'coordinator' | 'observer' | 'official';

let database: DemoDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
}, 600_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function telephoneOf(role: Role): Promise<{ context: BrowserContext; page: Page }> {
  const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM person WHERE email = $1', [
    database.signIns[role],
  ]);
  const context = await browser.newContext({
    viewport: { width, height: 844 },
    isMobile: true,
    hasTouch: true,
    bypassCSP: true,
  });
  context.setDefaultTimeout(300_000);
  const { conferenceId } = database;
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId: rows[0]!.id }));
  return { context, page: await context.newPage() };
}

/** Pages of one template have one pattern: ids, keys of duties and what a query asks for left out. */
function patternOf(href: string): string {
  return new URL(href, address).pathname
    .replaceAll(/[0-9a-f]{8}-[0-9a-f-]{27}/g, 'ID')
    .replace(/\/duties\/[a-z-]+/, '/duties/KEY')
    .replace(/^\/$/, '/desk')
    .replace(/^\/seasons\/ID\/rubric$/, '/rubric');
}

const problemsOf = (page: Page) =>
  page.evaluate((wide) => {
    const said = (element: Element) => element.outerHTML.slice(0, 100);
    const beyond = document.documentElement.scrollWidth - wide;
    const pushed = [...document.querySelectorAll('.scroll')].filter(
      (box) => box.scrollWidth > box.clientWidth + 1,
    );
    const low = [
      ...document.querySelectorAll<HTMLElement>(
        '.masthead button, main :is(button:not(p button), .button, select, textarea, summary, input:not([type=hidden]))',
      ),
    ]
      .map((target) => target.closest<HTMLElement>('label') ?? target)
      .filter((target) => target.checkVisibility() && target.getBoundingClientRect().height < 43.5);
    return [
      ...(beyond > 0 ? [`${beyond} px wider than the window`] : []),
      ...pushed.map((box) => `to be pushed sideways: ${said(box)}`),
      ...low.map((target) => `lower than 44 px: ${said(target)}`),
    ];
  }, width);

async function dimInTheDark(page: Page): Promise<string[]> {
  await page.emulateMedia({ colorScheme: 'dark' });
  await page.evaluate(axe.source);
  const found = await page.evaluate(async () => {
    const { axe: inPage } = window as unknown as { axe: typeof axe };
    const { violations } = await inPage.run(document, {
      runOnly: { type: 'rule', values: ['color-contrast'] },
      resultTypes: ['violations'],
    });
    return violations.flatMap(({ nodes }) =>
      nodes.map(({ target }) => `dim in the dark: ${target.join(' ')}`),
    );
  });
  await page.emulateMedia({ colorScheme: 'light' });
  return found;
}

async function photograph(page: Page, name: string): Promise<void> {
  const folder = process.env.SCREENSHOTS;
  if (!folder) return;
  await mkdir(folder, { recursive: true });
  await page.screenshot({ path: `${folder}/telephone-${name.replaceAll(/\W+/g, '-')}.png`, fullPage: true });
}

/** Opens what `start` leads to, one page of each pattern, and tells what is wrong with which. */
async function walk(role: Role, page: Page, start: string[], goesOn: boolean) {
  const wrong: Record<string, string[]> = {};
  const seen = new Set<string>();
  const waiting = [...start];
  for (let href = waiting.shift(); href !== undefined; href = waiting.shift()) {
    const pattern = patternOf(href);
    if (seen.has(pattern)) continue;
    seen.add(pattern);
    const answer = await page.request.get(`${address}${href}`);
    expect(answer.status(), href).toBe(200);
    if (!(answer.headers()['content-type'] ?? '').startsWith('text/html')) continue;
    await page.goto(`${address}${href}`);
    if (pattern.endsWith('/entry')) await page.waitForSelector('.entry');
    // Measured in our font, not in the one that stands in while it loads.
    await page.evaluate(async () => {
      await document.fonts.ready;
    });
    await photograph(page, `${role}-${pattern}`);
    const links = await page.$$eval('a[href]', (all) => all.map((link) => link.getAttribute('href')!));
    const problems = await problemsOf(page);
    if (!pattern.endsWith('/entry')) await leaveOutRepeats(page);
    problems.push(...(await dimInTheDark(page)));
    if (problems.length > 0) wrong[`${role}: ${pattern}`] = problems;
    if (!goesOn) continue;
    waiting.push(...links.map((link) => link.split('#')[0]!).filter((link) => /^\/(?!\/|api\/)/.test(link)));
  }
  return { wrong, seen };
}

test('an official reads and answers on a telephone', { timeout: 600_000 }, async () => {
  const { context, page } = await telephoneOf('official');
  const { wrong, seen } = await walk('official', page, ['/desk'], true);
  expect(wrong).toEqual({});
  expect([...seen]).toEqual(
    expect.arrayContaining([
      '/my/evaluation',
      '/my/marks',
      '/my/patterns',
      '/my/letters',
      '/my/seasons',
      '/my/account',
      '/rubric',
      '/games/ID/plays/ID/duties',
      '/observations/ID/reply',
      '/seasons/ID/officials/ID/grade',
    ]),
  );

  // The newest game is open and the rest one tap away; the button to answer is on the first two screens.
  await page.goto(`${address}/my/marks`);
  expect(await page.evaluate(() => document.documentElement.scrollHeight)).toBeLessThan(8_000);
  expect(await page.locator('details.marks-of-game').first().getAttribute('open')).not.toBeNull();
  expect(await page.locator('details.marks-of-game:not([open])').count()).toBeGreaterThan(0);
  const button = (await page
    .getByRole('link', { name: /^Answer/ })
    .first()
    .boundingBox())!;
  expect(button.y + button.height).toBeLessThan(2 * 844);
  expect(button.x + button.width).toBeLessThanOrEqual(width);
  const shown = async () =>
    Number(/\d+$/.exec((await page.locator('.tabs [aria-current]').textContent())!)![0]);
  const all = await shown();
  await page.getByRole('link', { name: /^To answer/ }).click();
  expect(await page.locator('.mark-cards tbody tr').count()).toBe(await shown());
  expect(await shown()).toBeLessThan(all);

  // The menu opens over the page and leads on.
  await page.getByRole('button', { name: /^Menu/ }).click();
  await page.getByRole('link', { name: 'My letters' }).click();
  await page.getByRole('heading', { name: 'My letters' }).waitFor();
  await context.close();
});

test('an observer finds, answers and enters on a telephone', { timeout: 600_000 }, async () => {
  const { context, page } = await telephoneOf('observer');
  const { wrong, seen } = await walk('observer', page, ['/desk'], true);
  expect(wrong).toEqual({});
  expect([...seen]).toEqual(
    expect.arrayContaining([
      '/my/games',
      '/my/assignments',
      '/my/availability',
      '/my/seasons',
      '/rubric',
      '/reports/ID',
      '/reports/ID/entry',
      '/games/ID/plays',
    ]),
  );
  await context.close();
});

test('a coordinator looks at the desk on a telephone', { timeout: 600_000 }, async () => {
  const { context, page } = await telephoneOf('coordinator');
  const { wrong } = await walk('coordinator', page, ['/desk'], false);
  expect(wrong).toEqual({});
  await context.close();
});
