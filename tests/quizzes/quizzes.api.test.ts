// @module-tag long
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { knowledgeLines } from '../../server/knowledge/lines-in-words.ts';
import { quizzesByOfficial } from '../../server/knowledge/official-lines.ts';
import { ownData } from '../../server/privacy/own-data.ts';
import { endOfSitting } from '../../server/quizzes/rules/sitting.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// A quiz from nothing to its results, on a real PostgreSQL, with the server's clock set by the test.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let umpire: SignedInAgent;
let referee: SignedInAgent;
let quiz: string;
let now: Date;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 2);
  const { conferenceId } = game;
  const as = (personId: string) => inSessionOf(app, { conferenceId, personId });
  coordinator = await as(game.coordinatorId);
  umpire = await as(game.crew.umpire!);
  referee = await as(game.crew.referee!);
  app.quizClock.now = () => now;
  now = new Date('2031-08-01T12:00:00Z');
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function read(agent: SignedInAgent, address: string, status = 200) {
  const answer = await agent.get(address).expect(status);
  const { results } = await validator.validateString(answer.text);
  expect(
    results.flatMap(({ messages }) => messages).map(({ message, line }) => `${line}: ${message}`),
  ).toEqual([]);
  return parseHTML(answer.text).document;
}
const words = (document: Document) => document.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');
const send = (agent: SignedInAgent, address: string, fields: Record<string, string | string[]>) =>
  agent.post(address).type('form').send(fields);
const put = (agent: SignedInAgent, place: number, choice: number) =>
  agent.put(`/api/my/quizzes/${quiz}/answers/${place}`).send({ choice });
const at = (time: string) => {
  now = new Date(`2031-08-04T${time}Z`);
};

const question = (number: number) => ({
  label: `8-${number}`,
  text: `Invented question ${number}?`,
  choices: ['One', 'Two', 'Three'],
  answer: number % 3,
  explanation: `Because of ${number}.`,
  code: 'college',
  rule: `8-3-${number}`,
});

test('a quiz is made of the bank, announced with all that counts, and then stays', async () => {
  const wrong = await coordinator
    .post('/api/quiz-questions')
    .send({ ...question(1), rule: '' })
    .expect(400);
  expect(JSON.stringify(wrong.body)).toContain('cite the rule');
  const ids: string[] = [];
  for (let number = 1; number <= 6; number += 1)
    ids.push((await coordinator.post('/api/quiz-questions').send(question(number)).expect(201)).body.id);
  const list = `/seasons/${game.seasonId}/quizzes`;
  const frame = {
    title: 'August rules',
    opensAt: '2031-08-04T08:00',
    closesAt: '2031-08-06T20:00',
    minutes: '30',
    starts: '2',
    hoursBetween: '1',
    counts: 'best',
    draws: '3',
    audience: 'officials',
    crewId: '',
  };
  const refused = await send(coordinator, list, { ...frame, closesAt: '2031-08-04T07:00' }).expect(400);
  expect(refused.text).toContain('Must be later than it opens');
  // A day that is none is told beside its field, with all else that is wrong, and is no failure of the server.
  for (const field of ['opensAt', 'closesAt']) {
    const none = await send(coordinator, list, {
      ...frame,
      [field]: '2031-13-45T10:00',
      minutes: '-3',
    }).expect(400);
    const told = [...parseHTML(none.text).document.querySelectorAll('.wrong')].map((one) => one.textContent);
    expect(told).toEqual(['Must be a date and a time of day', 'Must be at least 1']);
  }
  const made = await send(coordinator, list, frame).expect(303);
  quiz = made.headers.location!.replace('/quizzes/', '');
  const draft = words(await read(coordinator, `/quizzes/${quiz}`));
  expect(draft).toContain('Choose questions first');
  await umpire.get(`/my/quizzes/${quiz}`).expect(404);
  const early = await send(coordinator, `/quizzes/${quiz}/announce`, {}).expect(409);
  expect(early.text).toContain('has no question yet');
  await send(coordinator, `/quizzes/${quiz}/questions`, { question: ids }).expect(303);
  await send(coordinator, `/quizzes/${quiz}/announce`, {}).expect(303);
  const { rows } = await database.pool.query(
    `SELECT facts FROM message WHERE kind = 'quiz' AND person_id = $1`,
    [game.crew.umpire],
  );
  expect(rows[0].facts).toMatchObject({
    what: 'announced',
    minutes: 30,
    questions: 3,
    starts: 2,
    percent: null,
  });
  const late = await send(coordinator, `/quizzes/${quiz}`, { ...frame, minutes: '10' }).expect(409);
  expect(late.text).toContain('what was announced stays');
  await read(coordinator, `/quizzes/${quiz}`);
  await read(coordinator, list);
});

test('before it opens nobody begins, and the page says what it asks for', async () => {
  const page = words(await read(umpire, `/my/quizzes/${quiz}`));
  expect(page).toContain('This quiz is not open yet');
  expect(words(await read(umpire, '/desk'))).not.toContain('Quizzes to take');
  expect(page).toContain('It does not enter the season grade');
  await send(umpire, `/my/quizzes/${quiz}/begin`, {}).expect(409);
  await put(umpire, 1, 0).expect(409);
  expect(words(await read(umpire, '/my/quizzes'))).toContain('not open yet');
});

test('the server’s clock holds the time: answers are kept one by one, late ones apart', async () => {
  at('15:00:00');
  const desk = async () => words(await read(umpire, '/desk'));
  expect(await desk()).toContain('Quizzes to take August rules30 minutes from your start on.');
  const before = words(await read(umpire, `/my/quizzes/${quiz}`));
  expect(before).toContain('3 questions, 30 minutes');
  expect(before).toContain('start 1 of 2; the best sitting counts');
  await send(umpire, `/my/quizzes/${quiz}/begin`, {}).expect(303);
  expect(await desk()).toContain('August rulesBegun: the time goes on.');
  const sitting = await read(umpire, `/my/quizzes/${quiz}`);
  expect(sitting.querySelectorAll('fieldset.quiz-question')).toHaveLength(3);
  // Nothing on the page or in the answers tells what is right.
  expect(sitting.toString()).not.toContain('Because of');
  const kept = await put(umpire, 1, 0).expect(200);
  expect(kept.body).toEqual({ kept: true, said: null, secondsLeft: 1800 });
  at('15:20:00');
  expect((await put(umpire, 1, 2).expect(200)).body.secondsLeft).toBe(600);
  await put(umpire, 9, 0).expect(404);
  await put(umpire, 2, 3).expect(400);
  // Another device, a second begin: the same sitting goes on.
  await send(umpire, `/my/quizzes/${quiz}/begin`, {}).expect(303);
  const again = await read(umpire, `/my/quizzes/${quiz}`);
  expect(again.querySelector('input[name=q1][checked]')!.getAttribute('value')).toBe('2');
  at('15:30:00');
  const late = await put(umpire, 2, 1).expect(200);
  expect(late.body.kept).toBe(false);
  expect(late.body.said).toContain('it is kept apart and does not count');
  const { rows } = await database.pool.query(
    `SELECT a.place, a.choice, a.late_choice, t.ended_by, t.ended_at FROM quiz_answer a
       JOIN quiz_attempt t ON t.id = a.attempt_id ORDER BY a.place`,
  );
  expect(rows.map(({ choice, late_choice }) => [choice, late_choice])).toEqual([
    [2, null],
    [null, 1],
    [null, null],
  ]);
  expect(rows[0]).toMatchObject({ ended_by: 'time', ended_at: new Date('2031-08-04T15:30:00Z') });
  const after = words(await read(umpire, `/my/quizzes/${quiz}`));
  expect(after).toContain('Handed in by itself when the time was over');
  expect(after).toContain('1 answer came after the end and does not count');
  expect(after).toMatch(
    /Answers are shown here from Wed, Aug 6, 2031, 8:00 PM CDT on, when nobody can sit this quiz any more/,
  );
  expect(after).not.toContain('Because of');
});

test('an answer of a sitting that has ended cannot be changed, even by SQL', async () => {
  await expect(database.pool.query('UPDATE quiz_answer SET choice = 0')).rejects.toThrow(
    'cannot be changed any more',
  );
});

test('a retake comes after the hours announced and asks other questions; with no start left answers wait for the others', async () => {
  at('16:00:00');
  const wait = words(await read(umpire, `/my/quizzes/${quiz}`));
  expect(wait).toContain('The next start is not open to you yet');
  await send(umpire, `/my/quizzes/${quiz}/begin`, {}).expect(409);
  at('16:30:00');
  expect(words(await read(umpire, `/my/quizzes/${quiz}`))).toContain(
    'The questions are others and, as far as answers so far tell, about as hard as before',
  );
  await send(umpire, `/my/quizzes/${quiz}/begin`, {}).expect(303);
  const { rows } = await database.pool.query(
    `SELECT t.number, array_agg(a.question_id ORDER BY a.question_id) AS asked FROM quiz_attempt t
       JOIN quiz_answer a ON a.attempt_id = t.id GROUP BY t.number ORDER BY t.number`,
  );
  expect(rows).toHaveLength(2);
  expect(rows[0].asked.filter((id: string) => rows[1].asked.includes(id))).toEqual([]);
  const { rows: right } = await database.pool.query(
    `SELECT a.place, v.answer FROM quiz_answer a JOIN quiz_attempt t ON t.id = a.attempt_id AND t.number = 2
       JOIN quiz_question_version v ON v.question_id = a.question_id AND v.version = a.version ORDER BY a.place`,
  );
  // Without a script: all at once, and handed in.
  const fields = Object.fromEntries(right.map(({ place, answer }) => [`q${place}`, String(answer)]));
  await send(umpire, `/my/quizzes/${quiz}/answers`, { ...fields, act: 'hand in' }).expect(303);
  const done = words(await read(umpire, `/my/quizzes/${quiz}`));
  expect(done).toContain('Sitting 2 this one counts 3 of 3 right');
  expect(done).not.toContain('Because of');
  expect(done).toMatch(
    /Answers are shown here from Wed, Aug 6, 2031, 8:00 PM CDT on, when nobody can sit this quiz any more/,
  );
  expect(done).toContain('You have no start left');
});

test('one official is given more time and a start, with a reason that is kept', async () => {
  at('17:00:00');
  await send(referee, `/my/quizzes/${quiz}/begin`, {}).expect(303);
  const nothing = await send(coordinator, `/quizzes/${quiz}/more`, {
    official: game.crew.referee!,
    extraMinutes: '15',
    reason: '',
  }).expect(400);
  expect(nothing.text).toContain('give the reason');
  await send(coordinator, `/quizzes/${quiz}/more`, {
    official: game.crew.referee!,
    extraMinutes: '15',
    extraStarts: '1',
    reason: 'The power failed.',
  }).expect(303);
  expect((await put(referee, 1, 0).expect(200)).body.secondsLeft).toBe(45 * 60);
  const { rows } = await database.pool.query(
    `SELECT reason FROM audit_entry WHERE action = 'quiz: more for one official'`,
  );
  expect(rows).toEqual([{ reason: 'The power failed.' }]);
  const page = words(await read(coordinator, `/quizzes/${quiz}`));
  expect(page).toContain('15 minutes more. 1 start more.');
});

test('made longer for all, ended sittings stay ended; shorter is refused', async () => {
  const shorter = await send(coordinator, `/quizzes/${quiz}/longer`, {
    closesAt: '2031-08-06T20:00',
    minutes: '20',
  }).expect(400);
  expect(shorter.text).toContain('can only be more than the 30 announced');
  await send(coordinator, `/quizzes/${quiz}/longer`, { closesAt: '2031-08-07T20:00', minutes: '40' }).expect(
    303,
  );
  expect((await put(referee, 1, 0).expect(200)).body.secondsLeft).toBe(55 * 60);
  const { rows } = await database.pool.query(
    'SELECT count(*)::int AS ended FROM quiz_attempt WHERE ended_at IS NOT NULL',
  );
  expect(rows[0].ended).toBe(2);
});

test('a quiz whose end has seconds gets more minutes by the form as it stands; what is refused names the field', async () => {
  const { body: bank } = await coordinator.get('/api/quiz-questions').expect(200);
  const made = await coordinator
    .post(`/api/seasons/${game.seasonId}/quizzes`)
    .send({
      ...{
        title: 'By the second',
        opensAt: '2031-08-04T10:00:05Z',
        closesAt: '2031-08-06T20:00:30Z',
        minutes: 10,
      },
      questions: [bank[0].id],
    })
    .expect(201);
  const page = `/quizzes/${made.body.id}`;
  await coordinator.post(`/api${page}/announce`).send({}).expect(200);
  const closesAt = (await read(coordinator, page)).querySelector('[name=closesAt]')!.getAttribute('value')!;
  await send(coordinator, `${page}/longer`, { closesAt, minutes: '20' }).expect(303);
  const kept = await database.pool.query('SELECT closes_at, minutes FROM quiz WHERE id = $1', [made.body.id]);
  expect(kept.rows).toEqual([{ closes_at: new Date('2031-08-06T20:00:30Z'), minutes: 20 }]);
  const earlier = await send(coordinator, `${page}/longer`, {
    closesAt: '2031-08-05T10:00',
    minutes: '20',
  }).expect(400);
  expect(words(parseHTML(earlier.text).document)).toContain(
    'Not done. Closes: can only be later than what was announced.',
  );
  // Whoever is given more is told the end that holds for them, the later of theirs and everybody's, and all their starts.
  const told = async (fields: Record<string, string>) => {
    await send(coordinator, `${page}/more`, {
      ...{ official: game.crew.umpire!, extraMinutes: '0', extraStarts: '0', reason: 'Travel.' },
      ...fields,
    }).expect(303);
    const { rows } = await database.pool.query(
      `SELECT facts ->> 'closesAt' AS "closesAt", facts ->> 'starts' AS starts FROM message WHERE kind = 'quiz' AND person_id = $1 AND about_id = $2
        ORDER BY happened_at DESC, id DESC LIMIT 1`,
      [game.crew.umpire, made.body.id],
    );
    return [rows[0].closesAt, rows[0].starts];
  };
  expect(await told({ openUntil: '2031-08-05T08:00' })).toEqual(['2031-08-06T20:00:30.000Z', '1']);
  expect(await told({ openUntil: '2031-08-09T15:00' })).toEqual(['2031-08-09T20:00:00.000Z', '1']);
  expect(await told({ extraStarts: '1' })).toEqual(['2031-08-09T20:00:00.000Z', '2']);
  // Longer for all: of a later end nobody is told who has one that is later still, and of more minutes each with their own end.
  const longer = async (fields: Record<string, string>) => {
    await database.pool.query(`DELETE FROM message WHERE kind = 'quiz'`);
    await send(coordinator, `${page}/longer`, fields).expect(303);
    const { rows } = await database.pool.query(
      `SELECT facts ->> 'closesAt' AS "closesAt", facts ->> 'minutes' AS minutes, facts ->> 'starts' AS starts
         FROM message WHERE kind = 'quiz' AND person_id = ANY ($1::uuid[]) ORDER BY person_id = $2`,
      [[game.crew.umpire, game.crew.referee], game.crew.umpire],
    );
    return rows;
  };
  const forAll = { closesAt: '2031-08-09T01:00:00.000Z', minutes: '20', starts: '1' };
  expect(await longer({ closesAt: '2031-08-08T20:00', minutes: '20' })).toEqual([forAll]);
  expect(await longer({ closesAt: '2031-08-08T20:00', minutes: '25' })).toEqual([
    { ...forAll, minutes: '25' },
    { closesAt: '2031-08-09T20:00:00.000Z', minutes: '25', starts: '2' },
  ]);
});

test('answers are shown when nobody can sit it any more, by the server’s clock, on the page alone', async () => {
  const own = async () => words(await read(umpire, `/my/quizzes/${quiz}`));
  const desk = async () => words(await read(coordinator, `/quizzes/${quiz}`));
  // The window closes at 8 PM; one official, who has a start left, was given fifteen minutes beyond it.
  now = new Date('2031-08-08T01:14:59Z');
  expect(await own()).not.toContain('Because of');
  expect(await own()).toContain('Answers are shown here from Thu, Aug 7, 2031, 8:15 PM CDT on');
  expect(await desk()).toContain(
    'Whoever sat it is shown the answers from Thu, Aug 7, 2031, 8:15 PM CDT on, when nobody can sit it any more.',
  );
  expect(await desk()).not.toContain('Others have been shown the answers');
  // No other way tells what is right: the letter's line and the person's own data hold counts and what they chose.
  const { conferenceId, seasonId, crew } = game;
  const lines = (await knowledgeLines(database.pool, conferenceId, seasonId)).get(crew.umpire!);
  expect(String(lines)).toMatch(/3 of 3 right/);
  const data = await ownData(database.pool, conferenceId, crew.umpire!, { all: false });
  expect(data!.tables.quiz_answer).toHaveLength(6);
  for (const told of [lines, data, words(await read(umpire, '/my/evaluation'))])
    expect(JSON.stringify(told)).not.toMatch(/Because of|"answer"/);
  for (const path of ['/api/quiz-questions', '/api/quiz-questions.csv', `/api/quizzes/${quiz}/results.csv`])
    await umpire.get(path).expect(403);
  now = new Date('2031-08-08T01:15:00Z');
  expect(await own()).toContain('Because of');
  expect(await desk()).toContain(
    'Whoever sat it has been shown the answers since Thu, Aug 7, 2031, 8:15 PM CDT.',
  );
  expect(await desk()).toContain('who sits it from now on may have been told them');
  // Somebody is let in afterwards: answers go until they have sat.
  await send(coordinator, `/quizzes/${quiz}/more`, {
    ...{ official: game.crew['back judge']!, extraMinutes: '0', extraStarts: '0', reason: 'In hospital.' },
    openUntil: '2031-08-08T20:00',
  }).expect(303);
  expect(await own()).not.toContain('Because of');
  expect(await own()).toContain('Answers are shown here from Fri, Aug 8, 2031, 8:00 PM CDT on');
  at('17:05:00');
});

test('begun, it cannot be taken back; a changed question becomes a new version', async () => {
  const refused = await send(coordinator, `/quizzes/${quiz}/withdraw`, {}).expect(409);
  expect(refused.text).toContain('Somebody has begun this quiz');
  const { body } = await coordinator.get('/api/quiz-questions').expect(200);
  const asked = body.find((one: { asked: number }) => one.asked > 0);
  await coordinator
    .put(`/api/quiz-questions/${asked.id}`)
    .send({ ...question(1), label: asked.label, text: 'Changed?' })
    .expect(200)
    .expect((answer: { body: { version: number } }) => expect(answer.body.version).toBe(2));
  await expect(
    database.pool.query(
      `UPDATE quiz_question_version SET text = 'Other' WHERE question_id = $1 AND version = 1`,
      [asked.id],
    ),
  ).rejects.toThrow('was asked already');
});

test('the end by the database is the end by the rules', async () => {
  const cases = [
    { begunAt: '2031-08-05T10:00:00Z', extra: 0, until: null },
    { begunAt: '2031-08-08T00:50:00Z', extra: 0, until: null },
    { begunAt: '2031-08-08T00:50:00Z', extra: 25, until: null },
    { begunAt: '2031-08-09T00:50:00Z', extra: 5, until: '2031-08-09T01:00:00Z' },
  ];
  const { rows: quizzes } = await database.pool.query(
    'SELECT opens_at, closes_at, minutes FROM quiz WHERE id = $1',
    [quiz],
  );
  const rules = {
    opensAt: quizzes[0].opens_at,
    closesAt: quizzes[0].closes_at,
    minutes: quizzes[0].minutes,
    starts: 2,
    hoursBetween: 0,
    closedSeason: false,
  };
  const { endSittings } = await import('../../server/quizzes/stores/sitting-store.ts');
  const officialId = game.crew['back judge'] ?? game.crew.umpire;
  for (const [at, { begunAt, extra, until }] of cases.entries()) {
    await database.pool.query(
      `UPDATE quiz_taker SET extra_minutes = $2, open_until = $3, reason = 'try' WHERE official_id = $1`,
      [officialId, extra, until],
    );
    await database.pool.query(
      `INSERT INTO quiz_attempt (conference_id, quiz_id, official_id, number, begun_at) VALUES ($1, $2, $3, $4, $5)`,
      [game.conferenceId, quiz, officialId, 50 + at, begunAt],
    );
    await endSittings(database.pool, new Date('2031-09-01T00:00:00Z'));
    const { rows } = await database.pool.query('SELECT ended_at FROM quiz_attempt WHERE number = $1', [
      50 + at,
    ]);
    const allowance = { extraMinutes: extra, extraStarts: 0, openUntil: until ? new Date(until) : null };
    expect(rows[0].ended_at).toEqual(endOfSitting(rules, allowance, new Date(begunAt)));
  }
  await database.pool.query('DELETE FROM quiz_attempt WHERE number >= 50');
});

test('results: few takers show counts only; nobody but the coordinator sees them', async () => {
  at('23:00:00');
  const page = words(await read(coordinator, `/quizzes/${quiz}/results`));
  expect(page).toContain('Fewer than 10 have taken it: only counts are shown');
  expect(page).not.toContain('±');
  const csv = await coordinator.get(`/api/quizzes/${quiz}/results.csv`).expect(200);
  expect(csv.text.split('\r\n')[0]).toBe(
    'official,sittings,right,asked,measure,standard_error,measured_right,measured_asked',
  );
  await umpire.get(`/quizzes/${quiz}/results`).expect(403);
  await umpire.get(`/api/quizzes/${quiz}/results.csv`).expect(403);
  const { conferenceId } = game;
  const stranger = await personSignedIn(app, conferenceId, ['official']);
  await stranger.agent.get(`/my/quizzes/${quiz}`).expect(404);
  const observer = await inSessionOf(app, { conferenceId, personId: game.observerId });
  await observer.get(`/my/quizzes/${quiz}`).expect(403);
  const added = await send(coordinator, `/quizzes/${quiz}/newcomers`, {}).expect(303);
  expect(added.headers.location).toContain('#takers');
  await stranger.agent.get(`/my/quizzes/${quiz}`).expect(200);
});

test('whether quizzes count is said before the first opens, told to all, and stays', async () => {
  const address = `/seasons/${game.seasonId}/quizzes/weight`;
  const late = await send(coordinator, address, { percent: '10' }).expect(409);
  expect(late.text).toContain('stays as it was announced before');
  now = new Date('2031-08-01T12:00:00Z');
  expect((await send(coordinator, address, { percent: '60' }).expect(400)).text).toContain('from 1 to 50');
  await send(coordinator, address, { percent: '10' }).expect(303);
  expect(words(await read(coordinator, address))).toContain('quizzes together count 10 %');
  const { rows } = await database.pool.query(`SELECT facts FROM message WHERE kind = 'quizzes count'`);
  expect(rows.length).toBeGreaterThan(5);
  expect(rows[0].facts.percent).toBe(10);
  await read(coordinator, `/seasons/${game.seasonId}/quizzes`);
});

test('letters and the evaluation have a line of their own, and the figure only by the weight announced', async () => {
  const lines = (await knowledgeLines(database.pool, game.conferenceId, game.seasonId)).get(
    game.crew.umpire!,
  );
  expect(lines).toEqual([
    'Rules quiz “August rules”: 3 of 3 right in the best of 2 sittings; does not enter the grade; quizzes together count 10 % in the figure beside it.',
  ]);
  const taken = await quizzesByOfficial(database.pool, game.conferenceId, game.seasonId);
  expect(taken.get(game.crew.umpire!)).toEqual([
    expect.objectContaining({ title: 'August rules', right: 3, asked: 3, measure: null }),
  ]);
  expect(taken.has(game.observerId)).toBe(false);
  const page = words(await read(umpire, '/my/evaluation'));
  expect(page).toContain(
    'August rules: 3 of 3 right in the best of 2 sittings; counts in the figure with quizzes, not in the grade',
  );
  expect(page).toContain('Quizzes together count 10 % in a figure beside the season grade, as announced on');
  await read(coordinator, `/seasons/${game.seasonId}/quizzes/figures`);
  await umpire.get(`/seasons/${game.seasonId}/quizzes/figures`).expect(403);
});

test('in a closed season nobody begins or is given more, and no page offers it', async () => {
  at('23:00:00');
  const { conferenceId, seasonId } = game;
  const late = await personSignedIn(app, conferenceId, ['official']);
  await send(coordinator, `/quizzes/${quiz}/newcomers`, {}).expect(303);
  expect(words(await read(late.agent, `/my/quizzes/${quiz}`))).toContain('Begin now');
  expect(words(await read(late.agent, '/desk'))).toContain('August rules');
  await database.pool.query(`UPDATE season SET state = 'closed', closed_at = now() WHERE id = $1`, [
    seasonId,
  ]);
  const page = words(await read(late.agent, `/my/quizzes/${quiz}`));
  expect(page).toContain('The season of this quiz is closed, so nobody begins it any more.');
  expect(page).not.toContain('Begin now');
  const begun = await send(late.agent, `/my/quizzes/${quiz}/begin`, {}).expect(409);
  expect(begun.text).toContain('role="alert">The season of this quiz is closed');
  const desk = await read(late.agent, '/desk');
  expect([...desk.querySelectorAll('main a')].map((link) => link.getAttribute('href'))).not.toContain(
    `/my/quizzes/${quiz}`,
  );
  const own = words(await read(coordinator, `/quizzes/${quiz}`));
  expect(own).toContain('its quizzes can be read, not changed');
  expect(own).not.toMatch(/Give it|Add who came since|Make it longer/);
  for (const [act, fields] of [
    ['newcomers', {}],
    ['more', { official: late.personId, extraStarts: '1', reason: 'Late.' }],
    ['longer', { closesAt: '2031-08-09T20:00', minutes: '60' }],
  ] as const)
    expect((await send(coordinator, `/quizzes/${quiz}/${act}`, fields).expect(409)).text).toContain(
      'it stays as it is',
    );
});
