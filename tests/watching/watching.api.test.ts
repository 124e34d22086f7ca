// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { makePerson } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { programToWatch, question, type Released } from './released-program.ts';

let database: TestDatabase;
let app: FastifyInstance;
let program: Released;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
beforeEach(async () => {
  program = await programToWatch(app, { dueOn: '2031-10-12' });
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const own = (number = 1) => `/api/my/training/${program.programId}/editions/${number}`;
const page = (number = 1) => `/my/training/${program.programId}/editions/${number}`;
const confirmed = async (personId: string, number = 1): Promise<SignedInAgent> => {
  const agent = await program.as(personId);
  await agent.post(`${own(number)}/notice`).expect(204);
  return agent;
};
const viewers = async (number = 1) =>
  (
    await database.pool.query<{ person_id: string; because: string }>(
      'SELECT person_id, because FROM training_viewer WHERE program_id = $1 AND edition_number = $2',
      [program.programId, number],
    )
  ).rows;

test('an edition for everybody is for officials and observers of the season, who are told with the due date', async () => {
  const { season } = program;
  const left = await makePerson(database.pool, season.conferenceId, ['official']);
  await database.pool.query(
    'INSERT INTO season_departure (conference_id, season_id, person_id) VALUES ($1, $2, $3)',
    [season.conferenceId, season.seasonId, left.personId],
  );
  const gone = await makePerson(database.pool, season.conferenceId, ['observer']);
  await database.pool.query('UPDATE person SET active = false WHERE id = $1', [gone.personId]);
  await program.release();
  const who = await viewers();
  const expected = [...Object.values(season.crew), season.observerId, season.secondObserverId].sort();
  expect(who.map(({ person_id }) => person_id).sort()).toEqual(expected);
  expect(who.find(({ person_id }) => person_id === season.observerId)!.because).toBe('observer');
  const { rows } = await database.pool.query(
    `SELECT person_id, facts FROM message WHERE conference_id = $1 AND kind = 'training'`,
    [season.conferenceId],
  );
  expect(rows.map(({ person_id }) => person_id).sort()).toEqual(expected);
  expect(rows[0].facts).toMatchObject({
    title: 'Eyes on players',
    dueOn: '2031-10-12',
    edition: 1,
    note: '',
  });
});

test('a position’s edition is for who works there, a crew’s for its members, observers’ for observers', async () => {
  const { season } = program;
  const position = await programToWatch(app, { audience: 'position', audiencePosition: 'umpire' });
  await position.release();
  const of = async (programId: string) =>
    (
      await database.pool.query('SELECT person_id FROM training_viewer WHERE program_id = $1', [programId])
    ).rows.map((row) => row.person_id);
  expect(await of(position.programId)).toEqual([position.season.crew.umpire]);
  const observers = await programToWatch(app, { audience: 'observers' });
  await observers.release();
  expect((await of(observers.programId)).sort()).toEqual(
    [observers.season.observerId, observers.season.secondObserverId].sort(),
  );
  const { rows } = await database.pool.query(
    `INSERT INTO crew (conference_id, season_id, name) VALUES ($1, $2, 'North') RETURNING id`,
    [season.conferenceId, season.seasonId],
  );
  await database.pool.query(
    `INSERT INTO crew_member (conference_id, crew_id, position, person_id) VALUES ($1, $2, 'referee', $3)`,
    [season.conferenceId, rows[0].id, season.crew.referee],
  );
  const { body } = await program.coordinator.get(`/api/training-programs/${program.programId}`);
  await program.coordinator
    .put(`/api/training-programs/${program.programId}`)
    .send({
      frame: {
        title: body.title,
        goal: body.goal,
        minutes: 10,
        audience: 'crew',
        audienceCrewId: rows[0].id,
      },
      frameVersion: body.frameVersion,
    })
    .expect(200);
  await program.release();
  expect(await of(program.programId)).toEqual([season.crew.referee]);
});

test('nothing is shown before what is said of film is confirmed, and it is asked once', async () => {
  await program.release();
  const umpire = await program.as(program.season.crew.umpire!);
  const before = (await umpire.get(own()).expect(200)).body;
  expect(before).toMatchObject({ hasConfirmed: false, plays: [] });
  expect(before.notice).toMatch(/not pass them on/);
  const refused = await umpire.post(`${own()}/answers`).send({ play: 1, choice: 1 }).expect(409);
  expect(refused.body.detail).toMatch(/Confirm first/);
  expect((await umpire.get(page())).text).toContain('I read this and keep to it');
  await umpire.get(`${page()}/plays/1`).expect(303);
  await umpire.post(`${own()}/notice`).expect(204);
  await umpire.post(`${own()}/notice`).expect(204);
  expect((await umpire.get(page())).text).not.toContain('I read this and keep to it');
  const { rows } = await database.pool.query('SELECT notice FROM training_notice WHERE program_id = $1', [
    program.programId,
  ]);
  expect(rows).toEqual([{ notice: before.notice }]);
});

test('of an open question neither the right choice nor the answer of record is given, anywhere', async () => {
  await program.release();
  const umpire = await confirmed(program.season.crew.umpire!);
  const { body } = await umpire.get(own()).expect(200);
  expect(body.plays[0]).toMatchObject({ isOpen: true, told: null, question: question.question });
  expect(body.plays[0].choices.map((one: { isAcceptable: unknown }) => one.isAcceptable)).toEqual([
    null,
    null,
    null,
  ]);
  // A play without a question is told at once.
  expect(body.plays[1].told.answer).toBe('Step up and look through the pile.');
  const { text } = await umpire.get(`${page()}/plays/1`).expect(200);
  expect(text).toContain('At the players near it');
  expect(text).not.toContain('Step up');
  expect(text).not.toContain('acceptable');
  expect(text).not.toContain('Feet still');
});

test('the first answer counts, several choices may be acceptable, and what is sent again changes nothing', async () => {
  await program.release();
  const umpire = await confirmed(program.season.crew.umpire!);
  const first = (await umpire.post(`${own()}/answers`).send({ play: 1, choice: 2 }).expect(200)).body;
  expect(first.play.answered).toEqual({ choice: 2, isRight: true, how: 'online' });
  expect(first.play.told).toMatchObject({ twoMechanics: true, keys: ['Feet still', 'Eyes up'] });
  expect(first.play.choices.map((one: { isAcceptable: boolean }) => one.isAcceptable)).toEqual([
    false,
    true,
    true,
  ]);
  const again = (await umpire.post(`${own()}/answers`).send({ play: 1, choice: 0 }).expect(200)).body;
  expect(again).toEqual(first);
  await expect(
    database.pool.query('UPDATE training_answer SET choice = 0 WHERE program_id = $1', [program.programId]),
  ).rejects.toThrow(/first answer/);
  const wrong = await umpire.post(`${own()}/answers`).send({ play: 3, choice: 9 }).expect(400);
  expect(wrong.body.errors[0].field).toBe('choice');
  const none = await umpire.post(`${own()}/answers`).send({ play: 2, choice: 0 }).expect(400);
  expect(none.body.errors[0].field).toBe('play');
});

test('without film the plays are gone through one by one on pages, and that counts when all is answered', async () => {
  await program.release();
  const umpire = await confirmed(program.season.crew.umpire!);
  expect((await umpire.get(page())).text).toContain(
    '90 % of its plays were gone through and every question is answered',
  );
  // A play with an open question is not gone through by saying so.
  const early = (
    await umpire
      .post(`${own()}/watched`)
      .send({ plays: [1, 2, 3, 99] })
      .expect(200)
  ).body;
  expect(early).toMatchObject({ through: [2], isDone: false });
  const send = (play: number, form: object) => umpire.post(`${page()}/plays/${play}`).type('form').send(form);
  const empty = await send(1, {}).expect(400);
  expect(empty.text).toContain('Choose one of these.');
  expect((await send(1, { choice: '0' }).expect(303)).headers.location).toBe(`${page()}/plays/1#answer`);
  const told = (await umpire.get(`${page()}/plays/1`).expect(200)).text;
  expect(told).toContain('Not acceptable: the answer of record');
  expect(told).toContain('Two ways are acceptable');
  expect(told).toContain('football-field');
  expect((await send(1, {}).expect(303)).headers.location).toBe(`${page()}/plays/2`);
  await send(2, {}).expect(303);
  await send(3, { choice: '1' }).expect(303);
  expect((await umpire.get(own())).body.standing.isDone).toBe(false);
  expect((await send(3, {}).expect(303)).headers.location).toBe(page());
  expect((await umpire.get(own())).body.standing).toMatchObject({ isDone: true, answered: 2, share: 1 });
  expect((await umpire.get('/api/my/training')).body).toMatchObject([{ isDone: true }]);
  expect((await umpire.get('/my/training')).text).toContain('Nothing is to be watched now');
});

test('after a correction the new edition is offered; answers are carried where nothing of the play changed', async () => {
  await program.release();
  const umpire = await confirmed(program.season.crew.umpire!);
  await umpire.post(`${own()}/answers`).send({ play: 1, choice: 1 }).expect(200);
  await umpire.post(`${own()}/answers`).send({ play: 3, choice: 1 }).expect(200);
  await program.change(3, {
    ...question,
    question: 'And here?',
    choices: question.choices.map((one) => ({ ...one, right: !one.right })),
  });
  await program.release('The choices of play 3.');
  const { body } = await umpire.get(own(2)).expect(200);
  expect(body.note).toBe('The choices of play 3.');
  expect(body.hasConfirmed).toBe(true);
  expect(body.plays[0].answered).toEqual({ choice: 1, isRight: true, how: 'carried' });
  expect(body.plays[2]).toMatchObject({ isOpen: true, answered: null });
  expect((await umpire.get(page())).text).toContain('Watch the newest edition');
  expect((await umpire.get(`/my/training/${program.programId}`)).headers.location).toBe(page(2));
  const { rows } = await database.pool.query(
    `SELECT facts ->> 'note' AS note FROM message WHERE kind = 'training' AND person_id = $1 ORDER BY happened_at`,
    [program.season.crew.umpire],
  );
  expect(rows.map(({ note }) => note)).toEqual(['', 'The choices of play 3.']);
});

test('who is not of the audience finds nothing, and nobody finds another’s', async () => {
  const only = await programToWatch(app, { audience: 'position', audiencePosition: 'umpire' });
  await only.release();
  const at = `/api/my/training/${only.programId}/editions/1`;
  const umpire = await only.as(only.season.crew.umpire!);
  await umpire.post(`${at}/notice`).expect(204);
  await umpire.post(`${at}/answers`).send({ play: 1, choice: 1 }).expect(200);
  const others = [
    await only.as(only.season.crew.referee!),
    await only.as(only.season.observerId),
    only.coordinator,
    await program.as(program.season.crew.umpire!),
    (await personSignedIn(app, only.season.conferenceId, ['official'])).agent,
  ];
  for (const agent of others) {
    for (const address of [
      at,
      at.replace('/api', ''),
      `${at.replace('/api', '')}/plays/1`,
      `/my/training/${only.programId}`,
    ])
      await agent.get(address).expect(404);
    await agent.post(`${at}/answers`).send({ play: 1, choice: 1 }).expect(404);
    await agent.post(`${at}/watched`).send({}).expect(404);
    await agent.post(`${at}/notice`).expect(404);
    expect((await agent.get('/api/my/training').expect(200)).body).toEqual([]);
  }
  await umpire.get(`/api/my/training/${only.programId}/editions/2`).expect(404);
  // Nothing of where a play is from, and nobody's name, is in what the audience reads.
  const read = [JSON.stringify((await umpire.get(at)).body), (await umpire.get(at.replace('/api', ''))).text];
  const { rows } = await database.pool.query<{ family: string }>(
    `SELECT family_name AS family FROM person WHERE conference_id = $1 AND id <> $2`,
    [only.season.conferenceId, only.season.crew.umpire],
  );
  expect(rows.length).toBeGreaterThan(8);
  for (const text of read) expect(text).not.toContain(only.season.gameId);
});

test('a reel that is being made is told of, and one with captions in its picture gets none laid over', async () => {
  await program.release();
  const umpire = await confirmed(program.season.crew.umpire!);
  expect((await umpire.get(page()).expect(200)).text).toContain('There is no film of this edition');
  const { rows } = await database.pool.query<{ id: string }>(
    `INSERT INTO reel (conference_id, program_id, edition_number, plan, burned_in, state)
     VALUES ($1, $2, 1, '{}', true, 'waiting') RETURNING id`,
    [program.season.conferenceId, program.programId],
  );
  const { text } = await umpire.get(page()).expect(200);
  expect(text).toContain('Its film is being made');
  expect(text).not.toContain('There is no film of this edition');
  const facts = { frames: 90, seconds: 3.003, chapters: [], plays: [], questions: [], hasSound: false };
  const settle = (burnedIn: boolean) =>
    database.pool.query("UPDATE reel SET state = 'ready', facts = $2, burned_in = $3 WHERE id = $1", [
      ...[rows[0]!.id, JSON.stringify(facts), burnedIn],
    ]);
  await settle(true);
  expect((await umpire.get(page()).expect(200)).text).not.toContain('<track');
  await settle(false);
  expect((await umpire.get(page()).expect(200)).text).toContain('<track');
});
