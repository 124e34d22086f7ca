// @module-tag rest
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import type { Finding } from '../../server/duties/finding.ts';
import type { Change } from '../../server/reports/entry/changes.ts';
import { saveChanges } from '../../server/reports/entry/save-mark.ts';
import { takenQuiz } from '../quizzes/taken-quiz.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { makePerson } from '../support/people.ts';
import { testApp } from '../support/test-app.ts';
import { folderInRun } from '../support/test-run.ts';
import { leaveOutRepeats } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';
import { openFacts } from './support/entry-driver.ts';

// Every page of the application, whoever wrote it, opened as somebody who may see it and held against WCAG 2.2 A and
// AA by axe-core (https://github.com/dequelabs/axe-core). A new page is found by its route; a route with a new
// parameter needs a line in `idsFor`.

const axeSource = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const standards = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

/** All is looked at on a tablet, what a wide window shows otherwise (the menu) once there. */
const tablet = { width: 820, height: 900 };
const desktop = { width: 1280, height: 900 };

type Role = 'coordinator' | 'observer' | 'official' | 'contact' | 'nobody';
type Violation = { id: string; help: string; nodes: { html: string }[] };

let database: DemoDatabase;
let app: FastifyInstance;
let address: string;
let store: string;
let browser: Browser;
let contexts: Record<Role, BrowserContext>;
let ids: Record<Role, Record<string, string>>;

beforeAll(async () => {
  database = await demoDatabase();
  const { conferenceId } = database;
  store = await folderInRun('films');
  app = await testApp(database, { FILM_STORE: store });
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  const people = await peopleOf(conferenceId);
  ids = await idsFor(conferenceId, people);
  browser = await launchChromium();
  const device = async (personId?: string) => {
    const context = await browser.newContext({ viewport: tablet, bypassCSP: true });
    await context.addInitScript({ content: axeSource });
    // Long, as in the test runner: a page that computes a season first takes its time on a busy machine.
    context.setDefaultTimeout(300_000);
    if (personId)
      await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
    return context;
  };
  contexts = {
    coordinator: await device(people.coordinator),
    observer: await device(people.observer),
    official: await device(people.official),
    contact: await device(people.contact),
    nobody: await device(),
  };
});
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
  // The demo season has nobody who asks for a team: the home team of the game with the most reports does here.
  const contact = await makePerson(database.pool, conferenceId, ['team contact']);
  await database.pool.query(
    `INSERT INTO team_contact (conference_id, person_id, team_id)
     SELECT $1, $2, home_team_id FROM game WHERE conference_id = $1 AND id = (
       SELECT game_id FROM report WHERE conference_id = $1 GROUP BY game_id ORDER BY count(*) DESC LIMIT 1)`,
    [conferenceId, contact.personId],
  );
  return {
    contact: contact.personId,
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

/** A film that can be watched, as far as its pages go: the player says that nothing of it can be played. */
async function filmOf(conferenceId: string, gameId: string, personId: string): Promise<string> {
  const facts = {
    ...{ seconds: 9000, width: 180, height: 320, rate: 29.97, variable: true, rotated: 90 },
    ...{ sound: false, picture: 'hevc', form: null },
  };
  const id = await one(
    `INSERT INTO film (conference_id, game_id, angle, source, file_name, state, bytes, facts, made_by)
     VALUES ($1, $2, 'From the press box', 'upload', 'a-long-name-that-a-camera-gave-to-its-file-in-week-one-of-the-season.mp4', 'ready', 7, $3, $4)
     RETURNING id`,
    [conferenceId, gameId, JSON.stringify(facts), personId],
  );
  await mkdir(path.join(store, conferenceId), { recursive: true });
  await writeFile(path.join(store, conferenceId, id), 'no film');
  await database.pool.query(
    `WITH other AS (
       INSERT INTO film (conference_id, game_id, angle, source, state, bytes, refused, made_by)
       SELECT $1, $2, state, 'upload', state, 5000000, CASE WHEN state = 'refused' THEN 'It breaks off.' END, $4
         FROM unnest(ARRAY['arriving', 'waiting', 'refused']) AS s (state))
     INSERT INTO film_mark (conference_id, film_id, play_id, seconds, made_by)
     SELECT $1, $3, id, 600 - 100 * number, $4 FROM play WHERE conference_id = $1 AND game_id = $2 AND number < 3`,
    [conferenceId, gameId, id, personId],
  );
  return id;
}

/** A selection with a game, as a coordinator has it while it is prepared. */
async function selectionOf(seasonId: string, personId: string) {
  const { rows } = await database.pool.query<{ selectionId: string; selectionGameId: string }>(
    `WITH made AS (
       INSERT INTO selection (conference_id, season_id, title, rules, weights, made_by)
       SELECT conference_id, id, 'Semifinals', '{}', '{}', $2 FROM season WHERE id = $1 RETURNING conference_id, id)
     INSERT INTO selection_game (conference_id, selection_id, name, played_on, home_name, crew_size, alternates)
     SELECT conference_id, id, 'First semifinal', '2026-12-05', 'Winner of the west', 8, 1 FROM made
     RETURNING selection_id AS "selectionId", id AS "selectionGameId"`,
    [seasonId, personId],
  );
  const made = rows[0]!;
  const positions = [{ position: 'line judge', lines: [] }];
  await database.pool.query(
    `WITH kept AS (
       UPDATE selection SET basis = jsonb_build_object('takenAt', now(), 'inputRevision', 1, 'model', 'one', 'otherModel', 'another',
                'top', 2, 'week', 1, 'games', jsonb_build_array(jsonb_build_object('gameId', $2::text, 'positions', $3::jsonb)))
        WHERE id = $1 RETURNING conference_id, id, made_by),
     seat AS (
       INSERT INTO selection_member (conference_id, selection_id, person_id, kind, added_by)
       SELECT conference_id, id, made_by, 'coordinator', made_by FROM kept)
     INSERT INTO selection_record (conference_id, selection_id, sha256, pdf, made_by)
     SELECT conference_id, id, repeat('a', 64), '%PDF-1.4', made_by FROM kept`,
    [made.selectionId, made.selectionGameId, JSON.stringify(positions)],
  );
  return made;
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
  const quiz = await takenQuiz(database.pool, {
    conferenceId,
    seasonId: season,
    officialId: people.official,
  });
  const inquiryId = await one(
    `WITH asked AS (
       INSERT INTO inquiry (conference_id, season_id, game_id, team_id, number, state, category, quarter, clock_seconds,
                            film, question, made_by, received_at, due_on, decisive)
       SELECT $1, season_id, id, home_team_id, 1, 'crew asked', 'a foul that was called', 4, 131,
              'https://film.example.test/an-address-of-film-that-is-as-long-as-such-addresses-are?at=1:42:10',
              'Was it?', $2, now(), current_date - 2, true FROM game WHERE conference_id = $1 AND id = $3
       RETURNING conference_id, id, game_id),
     statement AS (INSERT INTO inquiry_statement (conference_id, inquiry_id, game_id, person_id, asked, asked_by)
       SELECT conference_id, id, game_id, $4, 'What did you see?', $5 FROM asked),
     reading AS (INSERT INTO inquiry_reading (conference_id, inquiry_id, round, game_id, reader_id, asked_by)
       SELECT conference_id, id, 1, game_id, $6, $5 FROM asked)
     SELECT id FROM asked`,
    [conferenceId, people.contact, twice, people.official, people.coordinator, people.observer],
  );
  const playId = await one(
    'SELECT id FROM play WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number LIMIT 1',
    [conferenceId, twice],
  );
  await database.pool.query(
    `INSERT INTO training_notice (conference_id, program_id, person_id, notice)
     SELECT conference_id, program_id, person_id, 'For you only.' FROM training_viewer
      WHERE conference_id = $1 AND person_id = $2`,
    [conferenceId, people.official],
  );
  const shared = {
    seasonId: season,
    gameId: twice,
    playId,
    // The demo's training program, with the play among its own.
    inquiryId,
    programId: await one(
      `WITH program AS (SELECT conference_id, id FROM training_program WHERE conference_id = $1 LIMIT 1),
            put AS (INSERT INTO training_play (conference_id, program_id, play_id, place, aspect, showing, position,
                                               seconds_before, seconds_after)
                    SELECT conference_id, id, $2, 100, 'keys', 'to discuss', 'umpire', 6, 10 FROM program)
       SELECT id FROM program`,
      [conferenceId, playId],
    ),
    setId: await one(
      `WITH made AS (INSERT INTO calibration_set (conference_id, season_id, title, state, opened_at)
                     VALUES ($1, $2, 'August clips', 'open', now()) RETURNING conference_id, id),
            clip AS (INSERT INTO calibration_clip (conference_id, set_id, number, play_id, position, items)
                     SELECT conference_id, id, 1, $3, 'umpire',
                            '[{"key": "the-call", "title": "The call", "expected": "What was called.", "gradedAs": "call"}]'
                       FROM made),
            asked AS (INSERT INTO calibration_observer (conference_id, set_id, observer_id)
                      SELECT conference_id, id, $4 FROM made)
       SELECT id FROM made`,
      [conferenceId, season, playId, people.observer],
    ),
    ...(await selectionOf(season, people.coordinator)),
    quizId: quiz.quizId,
    questionId: quiz.questionId,
    clinicId: await one(
      `WITH made AS (INSERT INTO clinic (conference_id, season_id, title, held_on, place)
                     VALUES ($1, $2, 'Preseason clinic', '2026-08-01', 'Office') RETURNING conference_id, id, season_id),
            asked AS (INSERT INTO clinic_attendance (conference_id, clinic_id, season_id, official_id, state)
                      SELECT conference_id, id, season_id, $3, 'attended' FROM made)
       SELECT id FROM made`,
      [conferenceId, season, people.official],
    ),
    personId: people.official,
    venueId: await one('SELECT id FROM venue WHERE conference_id = $1 ORDER BY name LIMIT 1', [conferenceId]),
    teamId: await one('SELECT id FROM team WHERE conference_id = $1 ORDER BY name LIMIT 1', [conferenceId]),
    crewId: await one('SELECT id FROM crew WHERE conference_id = $1 ORDER BY name LIMIT 1', [conferenceId]),
    observationId: mark,
    replyId: await one('SELECT id FROM reply WHERE conference_id = $1 AND observation_id = $2', [
      conferenceId,
      mark,
    ]),
    messageId: await one('SELECT id FROM message WHERE conference_id = $1 AND person_id = $2 LIMIT 1', [
      conferenceId,
      people.official,
    ]),
    dutyKey: await one('SELECT key AS id FROM duty WHERE conference_id = $1 ORDER BY key LIMIT 1', [
      conferenceId,
    ]),
    mappingId: await one(
      `INSERT INTO log_mapping (conference_id, name, columns, mapping)
       VALUES ($1, 'Statistics', '["What", "Where"]', '{"facts": {
         "kind": [{"from": "column", "column": "What", "values": {"rush": "run", "toss": "pass"}}],
         "spot": [{"from": "spot", "column": "Where", "as": "side and line", "values": {}}]}}') RETURNING id`,
      [conferenceId],
    ),
    webhookId: await one(
      `WITH w AS (INSERT INTO webhook (conference_id, address, events, secret, created_by)
                  VALUES ($1, 'https://site.example.test/a-long-path/for/what/officiating/has/to/tell', '["report.released", "reply.ruled"]', '', $2)
                  RETURNING conference_id, id),
            d AS (INSERT INTO webhook_delivery (conference_id, webhook_id, event, facts, state, attempts, status, error, answer, settled_at)
                  SELECT conference_id, id, 'report.released', '{}', state, 10, 500, 'It answered 500', repeat('wrong', 40), now()
                    FROM w, unnest(ARRAY['given up', 'delivered']) AS s (state))
       SELECT id FROM w`,
      [conferenceId, people.coordinator],
    ),
    filmId: await filmOf(conferenceId, twice, people.coordinator),
    sessionId: await one(
      `INSERT INTO training_session (conference_id, program_id, edition_number, held_on, place)
       SELECT conference_id, program_id, edition_number, '2031-10-05', 'Meeting room' FROM training_audience
        WHERE conference_id = $1 LIMIT 1 RETURNING id`,
      [conferenceId],
    ),
    number: '1',
    play: '1',
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
    contact: { ...shared, reportId: released },
    nobody: { ...shared, reportId: released },
  };
}

/** Addresses that need a secret which only a message holds; the page that says so is checked instead. */
const bySecret =
  /:token|:letterId|:pointId|:programId|:templateId|:versionId|:jobId|:batchId|:assignmentId|:uploadId|:reelId|:recordingId/;

const pageRoutes = () => [
  ...new Set(
    app.routesWithPolicies
      .filter(
        ({ method, url }) => method === 'GET' && !/^\/(api|assets|health|ready|metrics|favicon)/.test(url),
      )
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

/** @param leftOut what is not looked at, by CSS selectors */
async function violationsOn(page: Page, leftOut: string[] = []): Promise<string[]> {
  const found = await page.evaluate(
    ({ values, exclude }) =>
      (
        window as unknown as {
          axe: { run(where: object, how: object): Promise<{ violations: Violation[] }> };
        }
      ).axe.run(
        { include: ['html'], exclude },
        { runOnly: { type: 'tag', values }, resultTypes: ['violations'], preload: false },
      ),
    { values: standards, exclude: leftOut },
  );
  return found.violations.map(
    (violation) =>
      `${violation.id}: ${violation.help}: ${violation.nodes
        .map((node) => node.html)
        .join(' | ')
        .slice(0, 600)}`,
  );
}

/** A page fits a tablet's width: only tables and plots scroll, in boxes of their own. */
async function beyondTheTablet(page: Page): Promise<string[]> {
  const beyond = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  return beyond > 0 ? [`${beyond} px wider than a window of ${tablet.width} px`] : [];
}

/** What is touched and lower than 44 px (WCAG 2.2, 2.5.5): no rule for AA, but ours for entry on a tablet. */
const lowTargets = (page: Page) =>
  page.evaluate(() =>
    [...document.querySelectorAll<HTMLElement>('.entry :is(button, select, summary, a, input, textarea)')]
      .map((target) => target.closest<HTMLElement>('label:has(> [type=checkbox])') ?? target)
      .filter((target) => target.checkVisibility() && target.getBoundingClientRect().height < 43.5)
      .map((target) => `lower than 44 px: ${target.outerHTML.slice(0, 120)}`),
  );

async function photograph(page: Page, name: string): Promise<void> {
  const folder = process.env.SCREENSHOTS;
  if (!folder) return;
  await mkdir(folder, { recursive: true });
  for (const size of [desktop, tablet]) {
    await page.setViewportSize(size);
    await page.screenshot({ path: `${folder}/${name}-${size.width}.png` });
  }
}

/** A mark that another device entered differently, and a change that the server would not take. */
async function enterDifferentlyElsewhere(page: Page): Promise<void> {
  const { reportId } = ids.observer;
  const { rows } = await database.pool.query<
    Record<'conferenceId' | 'personId' | 'playId' | 'dutyKey', string>
  >(
    `SELECT r.conference_id AS "conferenceId", r.observer_id AS "personId", l.id AS "playId",
            (SELECT key FROM duty d WHERE d.conference_id = r.conference_id AND graded_as = 'mechanics' LIMIT 1)
              AS "dutyKey"
       FROM report r JOIN play l ON l.conference_id = r.conference_id AND l.game_id = r.game_id
      WHERE r.id = $1 AND l.removed_at IS NULL ORDER BY l.number LIMIT 1`,
    [reportId],
  );
  const { conferenceId, personId, playId, dutyKey } = rows[0]!;
  const mark = (finding: Finding): Change => ({
    kind: 'put mark',
    id: uuidv7(),
    basedOn: null,
    markId: uuidv7(),
    playId,
    position: 'umpire',
    dutyKey,
    finding,
    comment: 'As I saw it.',
    consequence: null,
  });
  for (const finding of ['missed', 'model'] as const) {
    await saveChanges(database.pool, { conferenceId, personId }, reportId!, [mark(finding)]);
  }
  const refused = { changeId: uuidv7(), reportId, change: mark('missed'), message: 'This report is filed.' };
  await page.evaluate(
    (item) =>
      new Promise((resolve, reject) => {
        const opening = indexedDB.open('crewmark-entry');
        opening.onerror = () => reject(opening.error);
        opening.onsuccess = () => {
          const putting = opening.result.transaction('set-aside', 'readwrite');
          putting.objectStore('set-aside').put(item);
          putting.oncomplete = () => resolve(opening.result.close());
        };
      }),
    refused,
  );
}

describe('WCAG 2.2 A and AA', () => {
  test('no page has a violation', async () => {
    const wrong: Record<string, string[]> = {};
    const checked: string[] = [];
    const closed: string[] = [];
    const pages = new Map<Role, Page>();
    /** Pages that say no under the same heading differ in nothing but what is not there: one is looked at for each role. */
    const refusals = new Set<string>();
    const isNews = (role: Role, status: number, html: string) => {
      const before = refusals.size;
      return status < 400 || refusals.add(`${role} ${status} ${/<h1.*?<\/h1>/s.exec(html)}`).size > before;
    };
    const pageOf = async (role: Role) => {
      if (!pages.has(role)) pages.set(role, await contexts[role].newPage());
      return pages.get(role)!;
    };
    for (const url of pageRoutes()) {
      let opened = false;
      for (const role of ['coordinator', 'observer', 'official', 'contact', 'nobody'] as const) {
        const page = await pageOf(role);
        const target = `${address}${addressFor(url, role)}`;
        const before = await page.request.get(target, { timeout: 300_000 });
        const isPage = (before.headers()['content-type'] ?? '').startsWith('text/html');
        const shown = before.ok() || bySecret.test(url);
        // A redirect's target is a page of its own.
        const redirected = new URL(before.url()).pathname !== new URL(target).pathname;
        if (isPage ? shown : before.ok()) opened = true;
        if (shown && isPage && !redirected && isNews(role, before.status(), await before.text())) {
          // Drawn by the server once is enough.
          await page.route(target, (route) => route.fulfill({ response: before }), { times: 1 });
          await page.goto(target);
          if (url.endsWith('/entry')) await page.waitForSelector('.entry');
          await photograph(page, `${url.replaceAll(/[/:]+/g, '-').slice(1) || 'start'}-${role}`);
          const violations = await beyondTheTablet(page);
          if (!url.endsWith('/entry')) await leaveOutRepeats(page);
          violations.push(...(await violationsOn(page)));
          if (violations.length > 0) wrong[`${url} as ${role}`] = violations;
          checked.push(url);
        }
        if (opened && !bySecret.test(url)) break;
      }
      if (!opened) closed.push(url);
    }
    for (const page of pages.values()) await page.close();
    expect(wrong).toEqual({});
    expect(closed).toEqual([]);
    expect(new Set(checked).size).toBeGreaterThan(20);
  });

  test('nor has the menu of a wide window', async () => {
    const wrong: Record<string, string[]> = {};
    for (const role of ['coordinator', 'observer', 'official', 'contact'] as const) {
      const page = await contexts[role].newPage();
      await page.setViewportSize(desktop);
      await page.goto(`${address}/messages`);
      await page.locator('.menu a[aria-current=page]').waitFor();
      const violations = await violationsOn(page);
      if (violations.length > 0) wrong[role] = violations;
      await page.close();
    }
    expect(wrong).toEqual({});
  });

  test('nor has the entry page in any of its states', async () => {
    const page = await contexts.observer.newPage();
    await page.goto(`${address}/reports/${ids.observer.reportId}/entry`);
    await page.waitForSelector('.entry');
    const wrong: Record<string, string[]> = {};
    // Looked at once whole; then of the plays, which are all alike, the first three and the one in view.
    const alike = '.entry-plays li:nth-child(n+4):not(:has([aria-current]))';
    let isFirst = true;
    const look = async (name: string) => {
      const violations = [...(await violationsOn(page, isFirst ? [] : [alike])), ...(await lowTargets(page))];
      isFirst = false;
      if (violations.length > 0) wrong[name] = violations;
      await photograph(page, `entry-${name.replaceAll(' ', '-')}`);
    };
    await page.click('.entry-actions button:has-text("New play")');
    await look('new play');
    await openFacts(page);
    await page.fill('#fact-endSpot', '200');
    await page.locator('#fact-endSpot').blur();
    await look('more facts and a wrong one');
    await page.click('.entry-actions button:has-text("Film")');
    await look('film');
    const film = { name: 'game.mp4', mimeType: 'video/mp4', buffer: Buffer.from('not a film') };
    await page.setInputFiles('.film input[type=file]', film);
    await page.waitForSelector('.film .wrong:has-text("cannot be played")');
    await look('film that cannot be played');
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
    await openFacts(page);
    await page.click('button:has-text("Remove play")');
    await page.waitForSelector('dialog[open]');
    await look('second look before removing a play');
    await page.click('dialog button:has-text("Keep the play")');
    await enterDifferentlyElsewhere(page);
    await page.reload();
    await page.waitForSelector('.entry-conflicts li:nth-child(2)');
    await look('versions from two devices');
    await page.close();
    expect(wrong).toEqual({});
  });

  test('nor has a page that answers a form', async () => {
    const page = await contexts.coordinator.newPage();
    const wrong: Record<string, string[]> = {};
    const { seasonId, gameId, playId, reportId, observationId, replyId } = ids.coordinator;
    const answered = async (path: string, fill: (form: string) => Promise<unknown>, shows: string) => {
      await page.goto(`${address}${path}`);
      const form = 'main form[method=post]';
      await page.$$eval(form, (forms) => {
        for (const each of forms as HTMLFormElement[]) each.noValidate = true;
      });
      await fill(form);
      await page.getByText(shows).first().waitFor();
      // The text can stand in the document before the style sheet is applied, and axe would judge the bare page.
      await page.waitForLoadState('load');
      await photograph(page, `answer-${path.replaceAll(/[0-9a-f-]{36}/g, 'id').replaceAll(/\W+/g, '-')}`);
      const violations = await beyondTheTablet(page);
      await leaveOutRepeats(page);
      violations.push(...(await violationsOn(page)));
      if (violations.length > 0) wrong[`${path}: ${shows}`] = violations;
    };
    const send = (form: string) => page.click(`${form} button >> nth=-1`);
    const file = (text: string, act: 'import' | 'check') => async (form: string) => {
      await page.setInputFiles('#files', {
        name: 'teams.csv',
        mimeType: 'text/csv',
        buffer: Buffer.from(text),
      });
      await page.click(`${form} button[value=${act}]`);
    };
    await answered('/import', file('name,home venue\n,Nowhere\n', 'import'), 'Import result');
    await answered('/import', file('name\nNew Team\n', 'check'), 'Check of the files');
    await answered('/import', file('name\nNew Team\n', 'import'), 'Import result');
    const play = `/games/${gameId}/plays/${playId}`;
    const correct = (spot: string) => async () => {
      await page.fill('#fact-spot', spot);
      await page.fill('#reason', 'The film says so.');
      await page.getByRole('button', { name: 'Correct the play' }).click();
    };
    const remove = async () => {
      await page.getByText('Remove this play from the log').click();
      await page.getByRole('button', { name: 'Remove the play' }).click();
    };
    await answered(play, correct('midfield'), 'write a whole number');
    await answered(play, correct('41'), 'Play corrected');
    await answered(play, remove, 'Give the reason for the removal');
    await answered(`/reports/${reportId}/marks/${observationId}`, send, 'Give the reason');
    const rule = async (form: string) => {
      await page.check(`${form} input[value=changed]`);
      await send(form);
    };
    await answered(`/replies/${replyId}`, rule, 'Choose the finding');
    const setWindow = async (form: string) => {
      await page.getByText('How long officials may answer').click();
      await page.fill('#field-replyDays', '400');
      await send(form);
    };
    await answered('/replies', setWindow, 'Must be at most 365');
    await answered(
      '/reports',
      async (form) => {
        for (const box of await page.$$(`${form} input[type=checkbox]`)) await box.uncheck();
        await send(form);
      },
      'Choose at least one report',
    );
    const settings = async () => {
      await page.getByText('Who is ranked, and for how many places').click();
      await page.getByLabel('Games graded, at least').fill('0');
      await page.getByRole('button', { name: 'Apply to all positions' }).click();
    };
    await answered(`/seasons/${seasonId}/standings`, settings, 'Must be at least 1');
    await answered('/people/invite', send, 'Invite');
    await answered('/no-such-page', async () => {}, 'Back to the start');
    await page.close();
    expect(wrong).toEqual({});
  });
});
