// @module-tag long
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 1);
  coordinator = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.coordinatorId });
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function sound(text: string) {
  const { results } = await validator.validateString(text);
  expect(
    results.flatMap(({ messages }) => messages).map(({ message, line }) => `${line}: ${message}`),
  ).toEqual([]);
  return parseHTML(text).document;
}
const bank = async () => (await coordinator.get('/api/quiz-questions').expect(200)).body;
const bring = (text: string) =>
  coordinator.post('/quiz-questions/import').attach('file', Buffer.from(text), 'questions.csv');

const headings = 'label,question,a,b,c,answer,explanation,code,rule,mechanic,positions';
const good = [
  '8-1,"Is it a score, by rule?",,,,True,,college,8-1-1,,',
  '10-2,Who marks the spot?,The wing,The umpire,Nobody,B,"Said ""so"" there.",high school,,Chapter 4,umpire; back judge',
];

test('a file with mistakes is refused line by line, and nothing is kept', async () => {
  const bad = [
    ...good,
    '9-1,No citation?,Yes,No,,A,,college,,,',
    '9-2,Which?,One,Two,,D,,college,9-2,,',
    '9-3,Which code?,One,Two,,A,,rugby,9-3,,',
    '8-1,Again?,One,Two,,A,,college,9-4,,',
    '9-5,Alike?,Same,same,,A,,college,9-5,,',
  ];
  const answer = await bring([headings, ...bad].join('\n')).expect(422);
  const page = await sound(answer.text);
  const told = [...page.querySelector('table')!.querySelectorAll('tbody tr')].map((row) =>
    [...row.querySelectorAll('td')].map((cell) => cell.textContent!.trim()),
  );
  expect(told.map(([where, column]) => `${where} ${column}`)).toEqual([
    'line 4 rule',
    'line 5 answer',
    'line 6 code',
    'line 7 label',
    'line 8 a',
  ]);
  expect(page.querySelector('main')!.textContent).toContain('take the 2 good questions without the rest');
  expect(await bank()).toEqual([]);
  // Said explicitly, the good ones are taken.
  const kept = page.querySelector('input[name=good]')!.getAttribute('value')!;
  const taken = await coordinator
    .post('/quiz-questions/import/good')
    .type('form')
    .send({ good: kept })
    .expect(200);
  expect(taken.text).toContain('2 added, 0 changed, 0 unchanged');
  expect(await bank()).toHaveLength(2);
});

test('what goes out comes in again unchanged, and reads as CSV elsewhere', async () => {
  const { text } = await coordinator.get('/api/quiz-questions.csv').expect(200);
  // csv-parse, told only that the first line has the headings.
  const rows = parse(text, { columns: true }) as Record<string, string>[];
  expect(rows.map((row) => row.label)).toEqual(['8-1', '10-2']);
  expect(rows[0]).toMatchObject({ a: 'True', b: 'False', answer: 'A', question: 'Is it a score, by rule?' });
  expect(rows[1]).toMatchObject({ explanation: 'Said "so" there.', positions: 'umpire; back judge' });
  const again = await bring(text).expect(200);
  expect(again.text).toContain('0 added, 0 changed, 2 unchanged');
  const changed = await bring(text.replace('The wing', 'A wing')).expect(200);
  expect(changed.text).toContain('0 added, 1 changed, 1 unchanged');
});

test('a cell that a spreadsheet would run is disarmed on its way out and read as written', async () => {
  await bring(`${headings}\n=1+1,-5 or what?,=A1,@B,,A,,college,1-1,,`).expect(200);
  const { text } = await coordinator.get('/api/quiz-questions.csv').expect(200);
  for (const cell of Object.values((parse(text, { columns: true }) as object[])[0]!))
    expect(cell).not.toMatch(/^[=@+]/);
  const again = await bring(text).expect(200);
  expect(again.text).toContain('0 added, 0 changed, 3 unchanged');
  const found = (await bank()).find(({ label }: { label: string }) => label === '=1+1');
  expect(found.choices).toEqual(['=A1', '@B']);
  await coordinator.post(`/quiz-questions/${found.id}/delete`).expect(303);
});

test('no file, an empty one, a workbook that is none, nonsense for the good ones', async () => {
  expect((await bring(headings).expect(400)).text).toContain('has no question below its headings');
  const none = await coordinator.post('/quiz-questions/import').field('other', 'x').expect(400);
  expect(none.text).toContain('No file was chosen');
  await coordinator
    .post('/quiz-questions/import/good')
    .type('form')
    .send({ good: '[{"label":1}]' })
    .expect(400);
  await coordinator.post('/quiz-questions/import/good').type('form').send({ good: '{' }).expect(400);
  const lacking = await bring('label,question\n1,Why?').expect(422);
  expect(lacking.text).toContain('answer');
});

test('by page: written, found, changed, retired; a label once only', async () => {
  const fields = {
    label: '12-1',
    text: 'Written by hand?',
    choiceA: 'Yes',
    choiceB: 'No',
    answer: '1',
    code: 'college',
    rule: '12-1-1',
    positions: ['umpire'],
  };
  const wrong = await coordinator
    .post('/quiz-questions')
    .type('form')
    .send({ ...fields, answer: '4' })
    .expect(400);
  expect(wrong.text).toContain('names a choice that is not there');
  expect(wrong.text).toContain('Written by hand?');
  await coordinator.post('/quiz-questions').type('form').send(fields).expect(303);
  const twice = await coordinator.post('/quiz-questions').type('form').send(fields).expect(400);
  expect(twice.text).toContain('another question has this label already');
  const list = await sound((await coordinator.get('/quiz-questions?find=by+hand').expect(200)).text);
  expect(list.querySelectorAll('tbody tr')).toHaveLength(1);
  const address = list.querySelector('tbody a')!.getAttribute('href')!;
  await sound((await coordinator.get(address).expect(200)).text);
  await coordinator
    .post(address)
    .type('form')
    .send({ ...fields, text: 'Changed by hand?' })
    .expect(303);
  // Nobody was asked it: it is the same version still.
  expect((await bank()).find(({ label }: { label: string }) => label === '12-1')).toMatchObject({
    version: 1,
    text: 'Changed by hand?',
    positions: ['umpire'],
  });
  await coordinator.post(`${address}/retire`).type('form').send({ retired: 'yes' }).expect(303);
  expect((await bank()).at(-1)).toMatchObject({ label: '12-1', retiredAt: expect.any(String) });
  await sound((await coordinator.get('/quiz-questions/import').expect(200)).text);
});
