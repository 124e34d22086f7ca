// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { readAttendance } from '../../server/outcomes/attended.ts';
import { remindBeforeDue } from '../../server/watching/stores/attendance-store.ts';
import { dayIn } from '../../server/web/today.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { programToWatch, type Released } from './released-program.ts';

let database: TestDatabase;
let app: FastifyInstance;
let program: Released;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
beforeEach(async () => {
  program = await programToWatch(app);
  coordinator = program.coordinator;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const edition = (number = 1) => `/api/training-programs/${program.programId}/editions/${number}`;
const pageAt = () => `/training/programs/${program.programId}/editions/1/audience`;
const attendance = async (number = 1) =>
  (await coordinator.get(`${edition(number)}/attendance`).expect(200)).body;
const told = async (kind: string) =>
  (
    await database.pool.query<{ id: string }>(
      'SELECT person_id AS id FROM message WHERE conference_id = $1 AND kind = $2 ORDER BY person_id',
      [program.season.conferenceId, kind],
    )
  ).rows.map(({ id }) => id);
const watch = async (personId: string) => {
  const agent = await program.as(personId);
  const own = `/api/my/training/${program.programId}/editions/1`;
  await agent.post(`${own}/notice`).expect(204);
  await agent.post(`${own}/answers`).send({ play: 1, choice: 1 }).expect(200);
  await agent.post(`${own}/answers`).send({ play: 3, choice: 0 }).expect(200);
  await agent
    .post(`${own}/watched`)
    .send({ plays: [1, 2, 3] })
    .expect(200);
};

test('who has not is listed and reminded once a day; who watched, or was at a session, is not', async () => {
  await program.release();
  const { crew } = program.season;
  await watch(crew.umpire!);
  const { body: session } = await coordinator
    .post(`${edition()}/sessions`)
    .send({ heldOn: '2031-10-05', place: 'Meeting room', makeUpBy: '2031-10-12' })
    .expect(201);
  await coordinator
    .put(`${edition()}/sessions/${session.id}/attended`)
    .send({ personIds: [crew.referee, crew['back judge']] })
    .expect(204);
  const before = await attendance();
  const of = (id: string) => before.people.find((one: { personId: string }) => one.personId === id);
  expect(of(crew.umpire!)).toMatchObject({ state: 'watched', answered: 2, questions: 2, share: 1 });
  expect(of(crew.referee!)).toMatchObject({ state: 'there', isOpen: false });
  expect(of(crew['line judge']!)).toMatchObject({ state: 'not begun', isOpen: true });
  // Both have done what is asked, to themselves and where it is told whether the program helped.
  const referee = await program.as(crew.referee!);
  const own = (await referee.get(`/api/my/training/${program.programId}/editions/1`).expect(200)).body;
  expect(own.standing.isDone).toBe(true);
  const done = await readAttendance(database.pool, program.season.conferenceId, program.programId);
  expect([crew.umpire, crew.referee, crew['line judge']].map((id) => done.get(id!))).toEqual([
    true,
    true,
    false,
  ]);
  // Who missed it watches by the day that the session says.
  expect(before.dueOn).toBe('2031-10-12');
  const open = before.people.filter((one: { isOpen: boolean }) => one.isOpen);
  // Where it is another day than in Greenwich: an evening's reminder and the next one's would else be of one day, or
  // two of one evening of two.
  const zone = new Date().getUTCHours() < 12 ? 'Etc/GMT+12' : 'Etc/GMT-12';
  await database.pool.query('UPDATE conference SET time_zone = $2 WHERE id = $1', [
    program.season.conferenceId,
    zone,
  ]);
  expect((await coordinator.post(`${edition()}/reminders`).send({}).expect(200)).body.reminded).toBe(
    open.length,
  );
  expect(await told('training reminder')).toEqual(
    open.map((one: { personId: string }) => one.personId).sort(),
  );
  const { rows: days } = await database.pool.query<{ once: string }>(
    `SELECT DISTINCT once FROM message WHERE conference_id = $1 AND kind = 'training reminder'`,
    [program.season.conferenceId],
  );
  expect(days).toEqual([{ once: `${program.programId} ${dayIn(zone)}` }]);
  expect(dayIn(zone)).not.toBe(dayIn('UTC'));
  expect((await coordinator.post(`${edition()}/reminders`).send({}).expect(200)).body.reminded).toBe(0);
  // The list is put right: who was ticked by mistake was not there.
  await coordinator
    .put(`${edition()}/sessions/${session.id}/attended`)
    .send({ personIds: [crew.referee] })
    .expect(204);
  expect((await attendance()).people.filter((one: { state: string }) => one.state === 'there')).toHaveLength(
    1,
  );
  const stranger = (await personSignedIn(app, program.season.conferenceId, ['official'])).personId;
  const refused = await coordinator
    .put(`${edition()}/sessions/${session.id}/attended`)
    .send({ personIds: [stranger] })
    .expect(400);
  expect(refused.body.errors[0].field).toBe('personIds');
  // They are in the conference now, and of this audience: offered to be added, not added by themselves.
  expect((await attendance()).came.map((one: { personId: string }) => one.personId)).toEqual([stranger]);
  const page = (await coordinator.get(pageAt()).expect(200)).text;
  expect(page).toContain('came after the release');
  expect(page).toContain(`Remind all ${open.length + 1} who have not`);
  expect((await coordinator.get(`${pageAt()}/sessions/${session.id}`).expect(200)).text).toContain(
    'Tick who was there',
  );
  expect(
    (
      await coordinator
        .post(`${edition()}/audience`)
        .send({ personIds: [stranger] })
        .expect(200)
    ).body.added,
  ).toBe(1);
  expect(await told('training')).toContain(stranger);
});

test('before the due date a reminder goes out by itself, once, to who has not watched', async () => {
  const { rows } = await database.pool.query<{ soon: string; late: string }>(
    `SELECT (current_date + 2)::text AS soon, (current_date + 20)::text AS late`,
  );
  const due = (day: string) =>
    database.pool.query('UPDATE training_program SET due_on = $2 WHERE id = $1', [program.programId, day]);
  await program.release();
  await watch(program.season.crew.umpire!);
  await due(rows[0]!.late);
  await remindBeforeDue(database.pool);
  expect(await told('training reminder')).toEqual([]);
  await due(rows[0]!.soon);
  await Promise.all([remindBeforeDue(database.pool), remindBeforeDue(database.pool)]);
  const { people } = await attendance();
  const open = people
    .filter((one: { isOpen: boolean }) => one.isOpen)
    .map((one: { personId: string }) => one.personId);
  expect(await told('training reminder')).toEqual(open.sort());
  expect(open).not.toContain(program.season.crew.umpire);
});

test('what counts is a setting of the program, and stands on the page of who watches', async () => {
  await program.release();
  await coordinator
    .post(`${pageAt()}/rule`)
    .type('form')
    .send({ shareNeeded: '60', remindDays: '1' })
    .expect(303);
  expect((await coordinator.get(`/api/training-programs/${program.programId}/watching-rule`)).body).toEqual({
    shareNeeded: 60,
    allQuestions: false,
    remindDays: 1,
  });
  const wrong = await coordinator
    .post(`${pageAt()}/rule`)
    .type('form')
    .send({ shareNeeded: '0', remindDays: '1' })
    .expect(400);
  expect(wrong.text).toContain('at least 1');
  const umpire = await program.as(program.season.crew.umpire!);
  const own = `/api/my/training/${program.programId}/editions/1`;
  await umpire.post(`${own}/notice`).expect(204);
  expect((await umpire.get(own)).body.rule).toBe('60 % of its plays were gone through');
});

test('who is shown is told first; an objection, and the time for one, hold the release until it is decided', async () => {
  const at = `/api/training-programs/${program.programId}`;
  const { crew } = program.season;
  const shown = async () => (await coordinator.get(`${at}/shown`).expect(200)).body;
  expect(
    (await shown()).map((one: { personId: string; place: number }) => [one.place, one.personId]),
  ).toEqual([
    [1, crew.umpire],
    [2, crew['line judge']],
    [3, crew.umpire],
  ]);
  // On the page nothing is released untold without a reason.
  const { version } = (await coordinator.get(at)).body;
  const page = `/training/programs/${program.programId}`;
  const untold = await coordinator
    .post(`${page}/release`)
    .type('form')
    .send({ version, note: '' })
    .expect(409);
  expect(untold.text).toContain('were not told');
  // Nor by a program.
  expect(
    (await coordinator.post(`${at}/editions`).send({ version, note: '' }).expect(409)).body.detail,
  ).toMatch(/who is shown in play 1, play 2, and play 3 was not told/);
  expect((await coordinator.post(`${at}/telling`).send({ days: 3 }).expect(200)).body.told).toBe(2);
  expect((await coordinator.post(`${at}/telling`).send({ days: 3 }).expect(200)).body.told).toBe(0);
  expect(await told('shown in training')).toEqual([crew.umpire, crew['line judge']].sort());
  await expect(program.release()).rejects.toThrow(/may object until \w{3}, \w{3} \d/);

  const umpire = await program.as(crew.umpire!);
  const own = (await umpire.get('/api/my/shown-in-training').expect(200)).body;
  expect(own).toHaveLength(2);
  const object = (agent: SignedInAgent, playId: string) =>
    agent.post(`/api/my/shown-in-training/${program.programId}/${playId}/objection`);
  const playId = program.season.playIds[0]!;
  expect((await object(umpire, playId).send({ reason: ' ' }).expect(400)).body.errors[0].field).toBe(
    'body.reason',
  );
  await object(umpire, playId).send({ reason: 'My view was blocked.' }).expect(204);
  await object(umpire, playId).send({ reason: 'Sent again.' }).expect(204);
  // Nobody else knows of it, or objects in their place.
  const line = await program.as(crew['line judge']!);
  await object(line, playId).send({ reason: 'Not mine.' }).expect(404);
  expect(JSON.stringify((await line.get('/api/my/shown-in-training')).body)).not.toContain('blocked');
  expect((await line.get('/my/training/shown')).text).not.toContain('blocked');
  await line.get(`${at}/shown`).expect(403);
  expect(await told('objection')).toEqual([program.season.coordinatorId]);

  await database.pool.query(`UPDATE training_shown SET object_until = now() - interval '1 minute'`);
  expect(
    (await object(line, program.season.playIds[5]!).send({ reason: 'Too late.' }).expect(409)).body.detail,
  ).toMatch(/time to object is over/);
  await expect(program.release()).rejects.toThrow(/objects to being shown in play 1/);
  expect((await coordinator.get(`${page}/shown`)).text).toContain('My view was blocked.');
  const decide = (over: object) =>
    coordinator.post(`${at}/decisions`).send({
      playId,
      officialId: crew.umpire,
      decision: 'shown',
      reason: 'It teaches, and names nobody.',
      ...over,
    });
  await decide({ reason: '' }).expect(400);
  await decide({}).expect(204);
  await decide({ decision: 'left out' }).expect(404);
  expect(await told('objection decided')).toEqual([crew.umpire]);
  expect((await umpire.get('/my/training/shown')).text).toContain('It teaches, and names nobody.');
  await program.release();
  // Neither the history nor anybody else's page repeats what they wrote.
  const { rows } = await database.pool.query(
    `SELECT 1 FROM audit_entry WHERE (after::text || coalesce(reason, '')) LIKE '%blocked%'`,
  );
  expect(rows).toEqual([]);
});

test('a play that is to be left out has to go before the release', async () => {
  const at = `/api/training-programs/${program.programId}`;
  await coordinator.post(`${at}/telling`).send({ days: 0 }).expect(200);
  await database.pool.query(
    `UPDATE training_shown SET object_until = now() + interval '1 day' WHERE program_id = $1`,
    [program.programId],
  );
  const umpire = await program.as(program.season.crew.umpire!);
  const playId = program.season.playIds[0]!;
  await umpire
    .post(`/api/my/shown-in-training/${program.programId}/${playId}/objection`)
    .send({ reason: 'Please not.' })
    .expect(204);
  await coordinator
    .post(`${at}/decisions`)
    .send({ playId, officialId: program.season.crew.umpire, decision: 'left out', reason: 'Agreed.' })
    .expect(204);
  await expect(program.release()).rejects.toThrow(/leave out play 1/);
});

test('nobody is named but where the coordinator says so; to everybody only when confirmed twice; recorded', async () => {
  await program.release();
  const names = (body: object) => coordinator.put(`${edition()}/names`).send(body);
  const read = async () => {
    const agent = await program.as(program.season.observerId);
    const own = `/api/my/training/${program.programId}/editions/1`;
    await agent.post(`${own}/notice`).expect(204);
    return (await agent.get(own)).body.plays.map((one: { official: string | null }) => one.official);
  };
  expect(await read()).toEqual([null, null, null]);
  expect((await names({ shown: true }).expect(400)).body.errors[0].field).toBe('sure');
  const once = await coordinator
    .post(`${pageAt()}/names`)
    .type('form')
    .send({ shown: 'yes', sure: 'yes' })
    .expect(400);
  expect(once.text).toContain('confirm it twice');
  expect(await read()).toEqual([null, null, null]);
  await names({ shown: true, confirmedTwice: true }).expect(204);
  expect((await read())[0]).toMatch(/umpire/i);
  const { rows } = await database.pool.query(
    `SELECT action FROM audit_entry WHERE conference_id = $1 AND action LIKE '%names%'`,
    [program.season.conferenceId],
  );
  expect(rows).toEqual([{ action: 'training program: names shown' }]);
  // A correction begins without names.
  await program.change(1, {});
  await program.release('The question of play 1.');
  expect((await attendance(2)).namesShown).toBe(false);
});
