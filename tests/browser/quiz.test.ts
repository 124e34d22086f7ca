// @module-tag rest
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// A coordinator makes a quiz by page; an official takes it on a telephone, loses the connection, goes on on another
// device, and lets the time run out; the coordinator reads what it tells and notes a clinic.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let game: OneGame;
/** Milliseconds by which the server's clock is set ahead. */
let ahead = 0;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  app.quizClock.now = () => new Date(Date.now() + ahead);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  game = await oneGame(database.pool, 1);
  const coordinator = await inSessionOf(app, {
    conferenceId: game.conferenceId,
    personId: game.coordinatorId,
  });
  for (let number = 1; number <= 4; number += 1)
    await coordinator
      .post('/api/quiz-questions')
      .send({
        ...{
          label: `4-1-${number}`,
          text: `An invented runner steps on line ${number}. Where is the ball next?`,
        },
        ...{ choices: ['At the spot of the step', 'At the previous spot', 'At the goal line'], answer: 0 },
        ...{ code: 'college', rule: `4-1-${number}`, explanation: 'The ball is dead there.' },
      })
      .expect(201);
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function deviceOf(personId: string, width: number): Promise<[Page, BrowserContext]> {
  const device = await browser.newContext({ viewport: { width, height: 844 } });
  const session = { conferenceId: game.conferenceId, personId };
  await signIn(device, address, await startSession(database.pool, session));
  return [await device.newPage(), device];
}

const pictures = process.env.PICTURES;
async function look(page: Page, name: string) {
  const [inside, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  expect([name, inside! <= room!]).toEqual([name, true]);
  if (pictures) await page.screenshot({ path: path.join(pictures, `${name}.png`), fullPage: true });
  expect([name, await accessibilityProblems(page)]).toEqual([name, []]);
}
const local = (minutes: number) => new Date(Date.now() + minutes * 60_000).toISOString().slice(0, 16);
const answered = async () => {
  const { rows } = await database.pool.query<{ choice: number | null }>(
    'SELECT choice FROM quiz_answer ORDER BY place',
  );
  return rows.map(({ choice }) => choice);
};

test('made on a desk, taken on a telephone, read on a tablet', async () => {
  await database.pool.query(`UPDATE conference SET time_zone = 'UTC'`);
  const [desk] = await deviceOf(game.coordinatorId, 1280);
  await desk.goto(`${address}/quiz-questions`);
  await look(desk, 'quiz-bank-1280');
  await desk.goto(`${address}/seasons/${game.seasonId}/quizzes`);
  await desk.fill('#field-title', 'August rules');
  await desk.fill('#field-opensAt', local(-10));
  await desk.fill('#field-closesAt', local(600));
  await look(desk, 'quiz-list-1280');
  await desk.click('button:text-is("Make it and choose questions")');
  for (const box of await desk.locator('input[name=question]').all()) await box.check();
  await desk.click('button:text-is("Take the ticked ones")');
  await look(desk, 'quiz-draft-1280');
  await desk.click('button:text-is("Announce it and tell them")');
  await desk.waitForSelector('#takers');

  const [phone, context] = await deviceOf(game.crew.umpire!, 390);
  await phone.goto(`${address}/my/quizzes`);
  await look(phone, 'my-quizzes-390');
  await phone.click('a:has-text("Read what it asks for")');
  await look(phone, 'quiz-statement-390');
  expect(await phone.textContent('main')).toContain('You have one start');
  await phone.click('button:has-text("Begin now")');
  await phone.waitForSelector('[data-sitting]');
  await look(phone, 'quiz-sitting-390');

  // By keys alone: space chooses, the arrow changes, and each is kept as it is given.
  await phone.focus('input[name=q1][value="0"]');
  await phone.keyboard.press('Space');
  await expect.poll(answered).toEqual([0, null, null, null]);
  await phone.keyboard.press('ArrowDown');
  await expect.poll(answered).toEqual([1, null, null, null]);

  // What is given without a connection goes when it is back.
  await context.setOffline(true);
  await phone.check('input[name=q2][value="2"]');
  await phone.waitForSelector('[data-said]:has-text("The connection is away")');
  expect(await answered()).toEqual([1, null, null, null]);
  await context.setOffline(false);
  await expect.poll(answered).toEqual([1, 2, null, null]);

  // Another device goes on with the same sitting.
  const [other] = await deviceOf(game.crew.umpire!, 820);
  await other.goto(`${address}/my/quizzes`);
  await other.click('a:has-text("Go on with it")');
  expect(await other.isChecked('input[name=q2][value="2"]')).toBe(true);
  await other.check('input[name=q3][value="0"]');
  await expect.poll(answered).toEqual([1, 2, 0, null]);

  // The time runs out on the open page: it hands itself in, and nothing more is taken.
  const { rows } = await database.pool.query<{ begun: Date }>('SELECT begun_at AS begun FROM quiz_attempt');
  ahead = rows[0]!.begun.getTime() + 30 * 60_000 - Date.now() - 4000;
  await phone.reload();
  await phone.waitForSelector('h2:has-text("Sitting 1")');
  expect(await phone.textContent('main')).toContain('1 of 4 right');
  expect(await phone.textContent('main')).toContain('Handed in by itself when the time was over');
  await look(phone, 'my-quiz-after-390');
  await other.check('input[name=q4][value="0"]');
  await other.waitForSelector('h2:has-text("Sitting 1")');
  expect(await other.textContent('main')).toContain('1 answer came after the end and does not count');

  const [tablet] = await deviceOf(game.coordinatorId, 820);
  await tablet.goto(`${address}/seasons/${game.seasonId}/quizzes`);
  await tablet.click('a:has-text("August rules")');
  await look(tablet, 'quiz-takers-820');
  await tablet.click('a:text-is("What it tells")');
  expect(await tablet.textContent('main')).toContain('1 of 4');
  await look(tablet, 'quiz-results-820');

  // The evaluation has it as a line of its own.
  await phone.goto(`${address}/my/evaluation`);
  const line = (await phone.textContent('#rules'))!.replaceAll(/\s+/g, ' ');
  expect(line).toContain('August rules: 1 of 4 right; does not enter the grade');
  await look(phone, 'evaluation-rules-390');
});

test('what thirty and more answers tell is readable', async () => {
  const { pool } = database;
  const { conferenceId } = game;
  const { rows } = await pool.query<{ id: string }>('SELECT id FROM quiz');
  const quizId = rows[0]!.id;
  await pool.query(
    `WITH made AS (INSERT INTO person (conference_id, given_name, family_name, email)
       SELECT $1, 'Quiz', 'Taker ' || n, 'quiz' || n || '@test.example' FROM generate_series(1, 34) n
       RETURNING id),
     taker AS (INSERT INTO quiz_taker (conference_id, quiz_id, official_id) SELECT $1, $2, id FROM made RETURNING official_id)
     INSERT INTO quiz_attempt (conference_id, quiz_id, official_id, number, begun_at)
     SELECT $1, $2, official_id, 1, now() FROM taker`,
    [conferenceId, quizId],
  );
  await pool.query(
    `INSERT INTO quiz_answer (conference_id, attempt_id, place, question_id, version, choice)
     SELECT $1, t.id, p.place, p.question_id, 1,
            CASE WHEN (hashtext(t.id::text || p.place) & 7) < 2 + p.place THEN 0 ELSE 1 + (hashtext(t.id::text) & 1) END
       FROM quiz_attempt t JOIN quiz_pool p ON p.quiz_id = t.quiz_id WHERE t.ended_at IS NULL`,
    [conferenceId],
  );
  await pool.query(`UPDATE quiz_attempt SET ended_at = now(), ended_by = 'official' WHERE ended_at IS NULL`);
  for (const width of [820, 1280]) {
    const [page] = await deviceOf(game.coordinatorId, width);
    await page.goto(`${address}/quizzes/${quizId}/results`);
    const told = (await page.textContent('main'))!.replaceAll(/\s+/g, ' ');
    expect(told).toContain('Reliability');
    // Reliability is the share of true variance (Kuder and Richardson 1937): under .5 chance has the larger one. The error of
    // a difference of two is √2 of theirs, twice of it 2.8.
    expect(told).toContain('under a half, they are mostly chance');
    expect(told).toContain('differ by about three of these standard errors');
    expect(await page.textContent('#questions')).toBeTruthy();
    expect(await page.textContent('main')).toContain('±');
    await look(page, `quiz-results-many-${width}`);
  }
  const [desk] = await deviceOf(game.coordinatorId, 820);
  await desk.goto(`${address}/seasons/${game.seasonId}/clinics`);
  await desk.fill('#field-title', 'Summer clinic');
  await look(desk, 'clinics-820');
  await desk.click('button:text-is("Make it and tell them")');
  await desk.waitForSelector('table');
  await look(desk, 'clinic-820');
  await desk.locator('input[value=attended]').first().check();
  await desk.click('button:text-is("Keep attendance")');
  await desk.waitForSelector('.notice.good');
  expect(await desk.textContent('main')).toContain(': 1 of');
  await desk.goto(`${address}/seasons/${game.seasonId}/quizzes/weight`);
  await look(desk, 'quiz-weight-820');
  await desk.goto(`${address}/quiz-questions/import`);
  await look(desk, 'quiz-import-820');
});
