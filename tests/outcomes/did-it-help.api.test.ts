// @module-tag long
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { frame, type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { everybodysDuty } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let program: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, {
    conferenceId: season.conferenceId,
    personId: season.coordinatorId,
  });
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

// By the HTML standard, as tests/web/html.api.test.ts has it for the pages of the demo season.
const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function read(address: string) {
  const answer = await coordinator.get(address).expect(200);
  const { results } = await validator.validateString(answer.text);
  expect(results.flatMap(({ messages }) => messages).map(({ message }) => message)).toEqual([]);
  return parseHTML(answer.text).document;
}
const words = (document: Document) => document.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');

/** An edition is final; only here is the day moved on which it was released. */
async function releasedOn(day: string) {
  await database.pool.query(
    `BEGIN; SET LOCAL crewmark.taking_away = 'on';
     UPDATE training_edition SET released_at = '${day}T12:00:00Z' WHERE program_id = '${program}'; COMMIT`,
  );
}
const outcome = async () =>
  (await coordinator.get(`/api/training-programs/${program}/outcome`).expect(200)).body;

test('until a program is released its page says so, and leads to releasing it', async () => {
  const address = `/api/seasons/${season.seasonId}/training-programs`;
  program = (await coordinator.post(address).send(frame).expect(201)).body.id;
  const page = await read(`/training/programs/${program}/outcome`);
  expect(words(page)).toContain('was not released yet');
  expect(page.querySelector(`main a[href="/training/programs/${program}/release"]`)).toBeTruthy();
});

test('misses before and after are the figures that patterns have, each game on one side', async () => {
  await coordinator.post(`/api/training-programs/${program}/proposal`).send({}).expect(200);
  // One of its plays asks something before its answer.
  await database.pool.query(
    `UPDATE training_play SET question = 'Whom do you watch now?',
            choices = '[{"text": "The ball", "right": false}, {"text": "Players", "right": true}]'
      WHERE program_id = $1 AND place = 1`,
    [program],
  );
  const { version } = (await coordinator.get(`/api/training-programs/${program}`).expect(200)).body;
  await coordinator
    .post(`/api/training-programs/${program}/editions`)
    .send({ version, note: '', namesMeant: true, untoldBecause: 'They were told by telephone.' })
    .expect(201);
  const patterns = (await coordinator.get(`/api/seasons/${season.seasonId}/patterns`).expect(200)).body;
  const { misses, opportunities } = patterns.conference.find(
    ({ duty }: { duty: string }) => duty === everybodysDuty.key,
  );
  expect(misses).toBeGreaterThan(0);
  const counted = { events: misses, opportunities };
  const none = { events: 0, opportunities: 0 };

  const later = await outcome();
  expect(later.duties).toHaveLength(1);
  expect(later.duties[0]).toMatchObject({ key: everybodysDuty.key, before: counted, after: none });
  await releasedOn('2020-01-01');
  const earlier = await outcome();
  expect(earlier).toMatchObject({ until: '2020-01-01', afterSeasonId: season.seasonId });
  expect(earlier.duties[0]).toMatchObject({ before: none, after: counted, verdict: 'cannot be told' });

  // With a day to watch it by that lies after the game, the game is on neither side.
  const { frameVersion } = (await coordinator.get(`/api/training-programs/${program}`)).body;
  await coordinator
    .put(`/api/training-programs/${program}`)
    .send({ frame: { ...frame, dueOn: '2099-01-01' }, frameVersion })
    .expect(200);
  expect((await outcome()).duties[0]).toMatchObject({ before: none, after: none });
});

test('the page names no official, and the table is the page’s', async () => {
  const page = await read(`/training/programs/${program}/outcome`);
  expect(words(page)).toContain(everybodysDuty.title);
  expect(words(page)).toContain('what was chosen for being bad gets better by itself');
  const { rows } = await database.pool.query<{ name: string }>(
    `SELECT family_name AS name FROM person p JOIN person_role r ON r.person_id = p.id AND r.role = 'official'
      WHERE p.conference_id = $1`,
    [season.conferenceId],
  );
  expect(rows.length).toBeGreaterThan(5);
  const text = words(page);
  for (const { name } of rows) expect(text).not.toContain(name);
  const csv = await coordinator.get(`/api/training-programs/${program}/outcome.csv`).expect(200);
  expect(csv.text.split('\r\n')[0]).toMatch(/^duty,missed_before,chances_before,/);
  expect(csv.text).toContain(everybodysDuty.title);
  expect((await read(`/training/programs/${program}`)).querySelector(`a[href$="/outcome"]`)).toBeTruthy();
});

test('what to teach next is what the staff missed most, and one button opens a program on it', async () => {
  const page = await read(`/seasons/${season.seasonId}/training/next-topics`);
  expect(words(page)).toContain(everybodysDuty.title);
  expect(page.querySelector(`a[href="/training/programs/${program}/outcome"]`)).toBeTruthy();
  const opened = await coordinator
    .post(`/seasons/${season.seasonId}/training/next-topics`)
    .type('form')
    .send({ duty: everybodysDuty.key })
    .expect(303);
  expect(opened.headers.location).toMatch(/\/candidates\?duty=everybodys-duty$/);
  expect(words(await read(opened.headers.location!))).toContain('umpire');
  await coordinator
    .post(`/seasons/${season.seasonId}/training/next-topics`)
    .type('form')
    .send({ duty: 'nothing' })
    .expect(400);
});

test('what half of the staff answers wrongly is analysed, and asks to be taught again', async () => {
  const people = [...Object.values(season.crew), season.observerId, season.secondObserverId];
  expect(people.length).toBeGreaterThanOrEqual(8);
  const of = [season.conferenceId, program];
  await database.pool.query(
    `INSERT INTO training_audience (conference_id, program_id, edition_number, audience)
     VALUES ($1, $2, 1, 'everybody') ON CONFLICT DO NOTHING`,
    of,
  );
  await database.pool.query(
    `INSERT INTO training_viewer (conference_id, program_id, edition_number, person_id, because)
     SELECT $1, $2, 1, unnest($3::uuid[]), 'by hand' ON CONFLICT DO NOTHING`,
    [...of, people],
  );
  // Two of them are right.
  await database.pool.query(
    `INSERT INTO training_answer (conference_id, program_id, edition_number, person_id, play_number, choice, is_right, how)
     SELECT $1, $2, 1, p.id, 1, CASE WHEN p.at <= 2 THEN 1 ELSE 0 END, p.at <= 2, 'online'
       FROM unnest($3::uuid[]) WITH ORDINALITY AS p (id, at)`,
    [...of, people],
  );
  const { questions } = await outcome();
  expect(questions.complete).toBe(people.length);
  expect(questions.questions).toHaveLength(1);
  expect(questions.questions[0]).toMatchObject({
    ...{ question: 'Whom do you watch now?', answered: people.length, right: 2, halfWrong: true },
    ...{ itemRest: null, choices: [{ taken: people.length - 2 }, { taken: 2 }] },
  });
  expect(words(await read(`/training/programs/${program}/outcome`))).toContain('teach it again');
  const next = words(await read(`/seasons/${season.seasonId}/training/next-topics`));
  expect(next).toContain('half or more were wrong Whom do you watch now?');
});

test('a program for observers is not told by officials’ misses', async () => {
  const other = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send({ ...frame, audience: 'observers' })
    .expect(201);
  const mine = program;
  program = other.body.id;
  expect(await outcome()).toMatchObject({ whose: null, duties: [] });
  program = mine;
});
