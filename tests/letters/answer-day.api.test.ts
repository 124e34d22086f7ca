// @module-tag long
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { writeReply } from '../../server/reports/review/replies.ts';
import { everybodysDuty, type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// The day that a letter names is the day that holds: read from the PDF by poppler, and tried on the page where one
// answers. The conference is in Honolulu (UTC−10 all year), its game elsewhere.
let database: TestDatabase;
let app: FastifyInstance;
let folder: string;
let game: OneGame;
let coordinator: SignedInAgent;
let official: SignedInAgent;
let officialId: string;
let markId: string;
let reportId: string;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database, { PUBLIC_URL: 'https://crewmark.example.test' });
  folder = mkdtempSync(path.join(tmpdir(), 'answer-day-'));
});
afterAll(async () => {
  rmSync(folder, { recursive: true, force: true });
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, 30);
  await database.pool.query("UPDATE conference SET time_zone = 'Pacific/Honolulu' WHERE id = $1", [
    game.conferenceId,
  ]);
  const as = (personId: string) => inSessionOf(app, { conferenceId: game.conferenceId, personId });
  const observer = await as(game.observerId);
  coordinator = await as(game.coordinatorId);
  officialId = game.crew['line judge']!;
  official = await as(officialId);
  const marks = ['line judge', 'umpire'].map((position) => ({
    kind: 'put mark',
    id: uuidv7(),
    basedOn: null,
    markId: uuidv7(),
    playId: game.playIds[3]!,
    position,
    dutyKey: everybodysDuty.key,
    finding: 'missed',
    comment: 'Turned away.',
  }));
  markId = marks[0]!.markId;
  reportId = (await observer.post(`/api/games/${game.gameId}/reports`).expect(200)).body.reportId;
  const crew = Object.entries(game.crew).map(([position, personId]) => ({ position, personId }));
  await observer
    .post(`/api/reports/${reportId}/changes`)
    .send({ changes: [...marks, { kind: 'confirm crew', id: uuidv7(), was: crew, crew }] })
    .expect(200);
  await observer.post(`/api/reports/${reportId}/file`).expect(200);
  await coordinator.post(`/api/reports/${reportId}/accept`).expect(200);
  await coordinator.post(`/api/reports/${reportId}/release`).expect(200);
});

/** The day so many days from today in Honolulu, YYYY-MM-DD. */
const dayIn = (days: number) =>
  new Date(Date.now() - 10 * 3600_000 + days * 86_400_000).toISOString().slice(0, 10);
const written = (day: string) =>
  new Intl.DateTimeFormat('en-US', { dateStyle: 'long', timeZone: 'UTC' }).format(new Date(day));
/** The last instant of a day in Honolulu. */
const endOf = (day: string) => new Date(Date.parse(`${day}T10:00:00Z`) + 86_400_000 - 1);

const make = (replyBy: string | null, kind = 'end-of-season') =>
  coordinator
    .post(`/api/seasons/${game.seasonId}/letter-batches`)
    .send({ kind, replyBy, personIds: [officialId] });

async function made(replyBy: string | null, kind = 'end-of-season'): Promise<string> {
  await make(replyBy, kind).expect(202);
  await app.letterWork.idle();
  const { letters } = (await coordinator.get(`/api/seasons/${game.seasonId}/letters?kind=${kind}`)).body;
  return letters.find((line: { personId: string }) => line.personId === officialId).letter.id;
}

const release = async (kind = 'end-of-season') =>
  (await coordinator.post(`/api/seasons/${game.seasonId}/letters/release`).send({ kind }).expect(200)).body;

async function pdfOf(letterId: string) {
  const { body } = await coordinator
    .get(`/api/letters/${letterId}/letter.pdf`)
    .buffer(true)
    .parse((response, done) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('end', () => done(null, Buffer.concat(chunks)));
    });
  const file = path.join(folder, `${letterId}.pdf`);
  writeFileSync(file, body);
  return {
    text: execFileSync('pdftotext', [file, '-'], { encoding: 'utf8' }).replace(/\s+/g, ' '),
    links: execFileSync('pdfinfo', ['-url', file], { encoding: 'utf8' }),
  };
}

const closeReport = () =>
  database.pool.query("UPDATE report SET reply_until = now() - interval '5 days' WHERE id = $1", [reportId]);
const answerAt = (at: Date) =>
  inTransaction(database.pool, (client) =>
    writeReply(
      client,
      { conferenceId: game.conferenceId, personId: officialId, at },
      markId,
      'It was close.',
    ),
  );
const page = async (agent: SignedInAgent, url: string) => (await agent.get(url)).text.replace(/\s+/g, ' ');

test('a released letter opens answering until the day it names, for its official alone, and links there', async () => {
  await closeReport();
  expect(await page(official, `/observations/${markId}/reply`)).toContain(
    'The time to answer this evaluation ended',
  );
  const day = dayIn(7);
  const letterId = await made(day);
  // A draft promises nothing yet.
  await official.post(`/observations/${markId}/reply`).type('form').send({ text: 'Early.' }).expect(422);
  expect(await release()).toEqual({ released: 1, outOfDate: 0, otherDay: 0 });

  const { text, links } = await pdfOf(letterId);
  expect(text).toContain(`say so by ${written(day)}`);
  expect(text).toContain('https://crewmark.example.test/my/marks');
  expect(links).toMatch(/Annotation\s+https:\/\/crewmark\.example\.test\/my\/marks/);
  expect(await page(official, '/my/marks')).toContain(
    `You can answer until the end of <strong>${written(day)}</strong>`,
  );
  expect(await page(official, `/observations/${markId}/reply`)).toContain(`until the end of ${written(day)}`);
  expect((await official.get('/api/my/marks')).body[0].replyUntil).toBe(endOf(day).toISOString());
  // The umpire got no letter: their time stays over.
  const umpire = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.crew.umpire! });
  expect(await page(umpire, '/my/marks')).toContain('The time to answer ended on');
  expect(await page(coordinator, `/reports/${reportId}`)).toContain(`some officials until ${written(day)}`);

  await expect(answerAt(new Date(endOf(day).getTime() + 1))).rejects.toThrow(
    `The time to answer this evaluation ended on ${written(day)}. Write to the coordinator.`,
  );
  await answerAt(endOf(day));
});

test('after the day, the page refuses with the day, and keeps what was typed', async () => {
  await closeReport();
  const day = dayIn(0);
  await made(day);
  await release();
  await official.get(`/observations/${markId}/reply`).expect(200);
  await database.pool.query("UPDATE reply_opening SET open_until = open_until - interval '2 days'");
  const passed = written(dayIn(-2));
  const late = await official
    .post(`/observations/${markId}/reply`)
    .type('form')
    .send({ text: 'It was close.' })
    .expect(422);
  expect(late.text).toContain('<blockquote>It was close.</blockquote>');
  expect(late.text).toContain(
    `The time to answer this evaluation ended on ${passed}. Write to the coordinator.`,
  );
  expect(await page(official, '/my/marks')).toContain(`The time to answer ended on ${passed}.`);
  const { body } = await official
    .post(`/api/observations/${markId}/reply`)
    .send({ text: 'It was close.' })
    .expect(409);
  expect(body.detail).toContain(passed);
});

test('an open window is never shortened: the letter names the later day', async () => {
  const letterId = await made(dayIn(3));
  await release();
  // The conference's ten days from the release of the report.
  expect((await pdfOf(letterId)).text).toContain(`say so by ${written(dayIn(10))}`);
  expect((await official.get('/api/my/marks')).body[0].replyUntil).toBe(endOf(dayIn(10)).toISOString());
});

test('a draft whose day has passed, or is no longer the one that holds, is not released', async () => {
  await made(dayIn(12), 'mid-season');
  await made(dayIn(20));
  expect(await release()).toMatchObject({ released: 1 });
  expect(await release('mid-season')).toEqual({ released: 0, outOfDate: 0, otherDay: 1 });
  const letterId = await made(dayIn(12), 'mid-season');
  expect((await pdfOf(letterId)).text).toContain(`say so by ${written(dayIn(20))}`);
  expect(await release('mid-season')).toMatchObject({ released: 1 });
  expect((await official.get('/api/my/marks')).body[0].replyUntil).toBe(endOf(dayIn(20)).toISOString());
});

test('a day in the past or beyond a year is refused beside the field; 0 days take no answers', async () => {
  const refused = await make(dayIn(-1)).expect(400);
  expect(refused.body.errors).toEqual([{ field: 'replyBy', message: expect.stringContaining('has passed') }]);
  await make(dayIn(400)).expect(400);
  const form = await coordinator
    .post(`/seasons/${game.seasonId}/letters/make`)
    .type('form')
    .send({ kind: 'end-of-season', paper: 'A4', replyBy: dayIn(-1) })
    .expect(400);
  expect(form.text).toContain('this day has passed');
  expect(form.text).toContain('<option value="A4" selected>');
  expect(form.text).toContain(`value="${dayIn(-1)}"`);
  await database.pool.query('UPDATE conference SET reply_days = 0 WHERE id = $1', [game.conferenceId]);
  await closeReport();
  const { text, links } = await pdfOf(await made(null));
  expect(text).toContain('If you see a play differently, say so: write to the coordinator.');
  expect(links).not.toContain('/my/marks');
});
