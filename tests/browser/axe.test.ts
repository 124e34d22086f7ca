import { mkdir, readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { loadDemo } from '../../seed-demo/load.ts';
import { hashPassword } from '../../server/accounts/password.ts';
import { startSession } from '../../server/accounts/session.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// Every page of the application, whoever wrote it, opened as somebody who may see it and held against WCAG 2.2 A and
// AA by axe-core (https://github.com/dequelabs/axe-core). A new page is found by its route; a route with a new
// parameter needs a line in `idsFor`.

const axeSource = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const standards = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

type Role = 'coordinator' | 'observer' | 'official' | 'nobody';
type Violation = { id: string; help: string; nodes: { html: string }[] };

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let contexts: Record<Role, BrowserContext>;
let ids: Record<Role, Record<string, string>>;

beforeAll(async () => {
  database = await testDatabase();
  const { conferenceId } = await loadDemo(database.pool, () => {}, hashPassword);
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  const people = await peopleOf(conferenceId);
  ids = await idsFor(conferenceId, people);
  browser = await launchChromium();
  const device = async (personId?: string) => {
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, bypassCSP: true });
    if (personId)
      await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
    return context;
  };
  contexts = {
    coordinator: await device(people.coordinator),
    observer: await device(people.observer),
    official: await device(people.official),
    nobody: await device(),
  };
}, 600_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function one(sql: string, values: unknown[]): Promise<string> {
  const { rows } = await database.pool.query<{ id: string }>(sql, values);
  if (!rows[0]) throw new Error(`The demo season has no row for: ${sql}`);
  return rows[0].id;
}

async function peopleOf(conferenceId: string) {
  return {
    coordinator: await one(
      `SELECT person_id AS id FROM person_role WHERE conference_id = $1 AND role = 'coordinator' LIMIT 1`,
      [conferenceId],
    ),
    /** One with a report that is still open. */
    observer: await one(
      `SELECT observer_id AS id FROM report WHERE conference_id = $1
        ORDER BY state NOT IN ('draft', 'returned'), id LIMIT 1`,
      [conferenceId],
    ),
    /** One with a mark in a released report. */
    official: await one(
      `SELECT o.person_id AS id FROM observation o JOIN report r ON r.conference_id = $1 AND r.id = o.report_id
        WHERE o.conference_id = $1 AND r.state = 'released' AND o.finding = 'missed' ORDER BY o.id LIMIT 1`,
      [conferenceId],
    ),
  };
}

/** For each role, an id that it may see for every parameter that a page's address has. */
async function idsFor(
  conferenceId: string,
  people: Awaited<ReturnType<typeof peopleOf>>,
): Promise<Record<Role, Record<string, string>>> {
  const released = await one(
    `SELECT r.id FROM report r JOIN observation o ON o.conference_id = $1 AND o.report_id = r.id
      WHERE r.conference_id = $1 AND r.state = 'released' AND o.person_id = $2 LIMIT 1`,
    [conferenceId, people.official],
  );
  const mark = await one(
    `SELECT id FROM observation WHERE conference_id = $1 AND report_id = $2 AND person_id = $3 ORDER BY id LIMIT 1`,
    [conferenceId, released, people.official],
  );
  await database.pool.query(
    `INSERT INTO reply (conference_id, observation_id, official_id, text) VALUES ($1, $2, $3, 'I held the spot.')
     ON CONFLICT DO NOTHING`,
    [conferenceId, mark, people.official],
  );
  const twice = await one(
    `SELECT game_id AS id FROM report WHERE conference_id = $1 GROUP BY game_id ORDER BY count(*) DESC LIMIT 1`,
    [conferenceId],
  );
  const season = await one('SELECT season_id AS id FROM report WHERE id = $1', [released]);
  const shared = {
    seasonId: season,
    gameId: twice,
    playId: await one(
      'SELECT id FROM play WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number LIMIT 1',
      [conferenceId, twice],
    ),
    personId: people.official,
    observationId: mark,
    replyId: await one('SELECT id FROM reply WHERE conference_id = $1 AND observation_id = $2', [
      conferenceId,
      mark,
    ]),
    dutyKey: await one('SELECT key AS id FROM duty WHERE conference_id = $1 ORDER BY key LIMIT 1', [
      conferenceId,
    ]),
    number: '1',
    revision: '1',
    week: '1',
    name: 'teams.csv',
    position: 'line judge',
    kind: 'end-of-season',
  };
  const open = await one(
    `SELECT id FROM report WHERE conference_id = $1 AND observer_id = $2
      ORDER BY state NOT IN ('draft', 'returned'), id LIMIT 1`,
    [conferenceId, people.observer],
  );
  return {
    coordinator: { ...shared, reportId: released },
    observer: { ...shared, reportId: open },
    official: { ...shared, reportId: released },
    nobody: { ...shared, reportId: released },
  };
}

/** Addresses that need a secret which only a message holds; the page that says so is checked instead. */
const bySecret = /:token|:letterId|:pointId|:programId|:templateId|:versionId|:jobId|:batchId|:assignmentId/;

const pageRoutes = () => [
  ...new Set(
    app.routesWithPolicies
      .filter(({ method, url }) => method === 'GET' && !/^\/(api|assets|health|ready|favicon)/.test(url))
      .map(({ url }) => url),
  ),
];

function addressFor(url: string, role: Role): string {
  return url.replaceAll(/:(\w+)(\([^)]*\))?/g, (_, name: string) => {
    const id = ids[role][name];
    if (id === undefined && !bySecret.test(`:${name}`)) {
      throw new Error(`axe.test.ts has no example for :${name} of ${url}; add one to idsFor.`);
    }
    return encodeURIComponent(id ?? '00000000-0000-4000-8000-000000000000');
  });
}

async function violationsOn(page: Page): Promise<string[]> {
  await page.evaluate(axeSource);
  const found = await page.evaluate(
    (values) =>
      (
        window as unknown as {
          axe: { run(where: Document, how: object): Promise<{ violations: Violation[] }> };
        }
      ).axe.run(document, { runOnly: { type: 'tag', values }, resultTypes: ['violations'] }),
    standards,
  );
  return found.violations.map(
    (violation) =>
      `${violation.id}: ${violation.help}: ${violation.nodes
        .map((node) => node.html)
        .join(' | ')
        .slice(0, 600)}`,
  );
}

async function photograph(page: Page, name: string): Promise<void> {
  const folder = process.env.SCREENSHOTS;
  if (!folder) return;
  await mkdir(folder, { recursive: true });
  for (const width of [1280, 820]) {
    await page.setViewportSize({ width, height: 900 });
    await page.screenshot({ path: `${folder}/${name}-${width}.png` });
  }
  await page.setViewportSize({ width: 1280, height: 900 });
}

describe('WCAG 2.2 A and AA', { timeout: 900_000 }, () => {
  test('no page has a violation', async () => {
    const wrong: Record<string, string[]> = {};
    const checked: string[] = [];
    const closed: string[] = [];
    for (const url of pageRoutes()) {
      let opened = false;
      for (const role of ['coordinator', 'observer', 'official', 'nobody'] as const) {
        const page = await contexts[role].newPage();
        const target = `${address}${addressFor(url, role)}`;
        const before = await page.request.get(target);
        const isPage = (before.headers()['content-type'] ?? '').startsWith('text/html');
        const shown = before.ok() || bySecret.test(url);
        if (before.ok() && !isPage) opened = true;
        // A redirect's target is a page of its own.
        if (
          shown &&
          isPage &&
          (new URL(before.url()).pathname === new URL(target).pathname || bySecret.test(url))
        ) {
          await page.goto(target);
          if (url.endsWith('/entry')) await page.waitForSelector('.entry');
          const violations = await violationsOn(page);
          if (violations.length > 0) wrong[`${url} as ${role}`] = violations;
          checked.push(url);
          opened = true;
          await photograph(page, `${url.replaceAll(/[/:]+/g, '-').slice(1) || 'start'}-${role}`);
        } else if (before.ok() && isPage) opened = true;
        await page.close();
        if (opened && !bySecret.test(url)) break;
      }
      if (!opened) closed.push(url);
    }
    expect(wrong).toEqual({});
    expect(closed).toEqual([]);
    expect(new Set(checked).size).toBeGreaterThan(20);
  });

  test('nor has the entry page in any of its states', async () => {
    const page = await contexts.observer.newPage();
    await page.goto(`${address}/reports/${ids.observer.reportId}/entry`);
    await page.waitForSelector('.entry');
    const wrong: Record<string, string[]> = {};
    const look = async (name: string) => {
      const violations = await violationsOn(page);
      if (violations.length > 0) wrong[name] = violations;
      await photograph(page, `entry-${name.replaceAll(' ', '-')}`);
    };
    await page.click('.entry-actions button:has-text("New play")');
    await look('new play');
    await page.click('.facts-card details summary');
    await page.fill('#fact-endSpot', '200');
    await page.locator('#fact-endSpot').blur();
    await look('more facts and a wrong one');
    await page.click('.entry-actions button:has-text("Film")');
    await look('film');
    await page.click('.entry-plays li:nth-child(3) button');
    await page.click('.officials button >> nth=4');
    await look('official chosen');
    await page.click('.duties .duty >> nth=0');
    await page.click('.findings button >> nth=0');
    await page.waitForSelector('.mark-comment textarea');
    await look('mark with comment');
    for (const dialog of ['Crew', 'Keys', 'Check and file']) {
      await page.click(`.entry-actions button:has-text("${dialog}")`);
      await page.waitForSelector('dialog[open]');
      await look(`dialog ${dialog}`);
      await page.click('dialog button:has-text("Close")');
    }
    await page.click('.facts-card > summary');
    await page.click('button:has-text("Remove play")');
    await page.waitForSelector('dialog[open]');
    await look('second look before removing a play');
    await page.click('dialog button:has-text("Keep the play")');
    await page.close();
    expect(wrong).toEqual({});
  });
});
