// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, expect, it } from 'vitest';
import { demoPassword } from '../../seed-demo/load.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { inSessionOf, personSignedIn, type SignedInAgent, signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
let pattern: { official: string; position: string; duty: string; misses: number; weeks: { game: string }[] };
beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
  const { body } = await coordinator.get(`/api/seasons/${database.seasonId}/patterns`).expect(200);
  pattern = body.patterns.find((row: { situationCut: string | null }) => row.situationCut === null);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(() => database.pool.query('DELETE FROM development_point'));

const points = () => `/api/seasons/${database.seasonId}/development-points`;
const input = () => ({ personId: pattern.official, position: pattern.position, dutyKey: pattern.duty });
const open = async () => (await coordinator.post(points()).send(input()).expect(201)).body;

/** Day of a game where it was played. */
async function dayOf(gameId: string): Promise<string> {
  const { rows } = await database.pool.query(
    `SELECT to_char(g.kickoff AT TIME ZONE v.time_zone, 'YYYY-MM-DD') AS day
       FROM game g JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id WHERE g.id = $1`,
    [gameId],
  );
  return rows[0].day;
}

it('opens with the pattern as evidence, once, and says who in the audit trail', async () => {
  const point = await open();
  expect(point).toMatchObject({ state: 'open', progress: { raisedOn: null, followUp: null } });
  expect(point.progress.season.own.events).toBe(pattern.misses);
  const { rows } = await database.pool.query('SELECT evidence FROM development_point');
  expect(rows[0].evidence).toMatchObject({ duty: pattern.duty, misses: pattern.misses });
  const again = await coordinator.post(points()).send(input()).expect(409);
  expect(again.body.detail).toMatch(/already/);
  const audit = await database.pool.query(
    "SELECT action, actor_id FROM audit_entry WHERE subject_kind = 'development_point' AND subject_id = $1",
    [point.id],
  );
  expect(audit.rows).toHaveLength(1);
  expect(audit.rows[0].actor_id).not.toBeNull();
});

it('refuses what names nobody or nothing, by field', async () => {
  const { body } = await coordinator
    .post(points())
    .send({ personId: '00000000-0000-4000-8000-000000000000', position: 'umpire', dutyKey: 'no-such-duty' })
    .expect(400);
  expect(body.errors.map((error: { field: string }) => error.field)).toEqual(['personId', 'dutyKey']);
  await coordinator
    .post(points())
    .send({ ...input(), position: 'linebacker' })
    .expect(400);
});

it('divides the games at the conversation, the day itself before', async () => {
  const { id } = await open();
  const day = await dayOf(pattern.weeks[1]!.game);
  const { body } = await coordinator
    .post(`/api/development-points/${id}/steps`)
    .send({ kind: 'conversation', happenedOn: day, text: 'Talked.' })
    .expect(201);
  const { before, after } = body.progress.followUp;
  expect(before.events + after.events).toBe(pattern.misses);
  expect(after.games).toBe(pattern.weeks.length - 2);
  // Taken back, nothing is divided any more.
  const step = body.steps.find((each: { kind: string }) => each.kind === 'conversation');
  const taken = await coordinator.delete(`/api/development-points/${id}/steps/${step.id}`).expect(200);
  expect(taken.body.progress.followUp).toBeNull();
  await coordinator.delete(`/api/development-points/${id}/steps/${step.id}`).expect(404);
});

it('says too early to tell when there was no game since', async () => {
  const { id } = await open();
  const { body } = await coordinator
    .post(`/api/development-points/${id}/steps`)
    .send({ kind: 'letter', happenedOn: '2030-01-01' })
    .expect(201);
  expect(body.progress.followUp).toMatchObject({ verdict: 'too early to tell', after: { opportunities: 0 } });
});

it('opens again by itself when the miss comes back after closing, and only then', async () => {
  const { id } = await open();
  // Closed after the last game: nothing can have come back.
  const close = (happenedOn: string) =>
    coordinator.post(`/api/development-points/${id}/close`).send({ happenedOn, text: 'Gone.' });
  const quiet = await close('2030-01-01').expect(200);
  expect(quiet.body.state).toBe('closed');
  expect((await coordinator.get(`/api/development-points/${id}`)).body.state).toBe('closed');
  await close('2030-01-01').expect(409);
  await coordinator
    .post(`/api/development-points/${id}/reopen`)
    .send({ happenedOn: '2030-01-02' })
    .expect(200);
  // Closed before the season: every miss of it has come back since. Many may ask at once; it opens once.
  await close('2020-01-01').expect(200);
  const asked = await Promise.all(
    Array.from({ length: 4 }, () => coordinator.get(`/api/development-points/${id}`).expect(200)),
  );
  for (const { body } of asked) expect(body.state).toBe('open');
  const { rows } = await database.pool.query(
    "SELECT made_by, text FROM development_step WHERE kind = 'reopened' AND made_by IS NULL",
  );
  expect(rows).toHaveLength(1);
  expect(rows[0].text).toMatch(/^Missed \d+ of \d+ in \d+ games since it was closed/);
  const audit = await database.pool.query(
    "SELECT FROM audit_entry WHERE action = 'development point reopened' AND actor_id IS NULL",
  );
  expect(audit.rowCount).toBe(1);
});

it('is shown to its official once they were told, without unshared words, and to no other', async () => {
  const { id } = await open();
  const official = await inSessionOf(app, {
    conferenceId: database.conferenceId,
    personId: pattern.official,
  });
  const mine = async () => (await official.get('/my/patterns').expect(200)).text;
  expect(await mine()).not.toContain('Development points');
  const note = (step: object) =>
    coordinator.post(`/api/development-points/${id}/steps`).send(step).expect(201);
  await note({ kind: 'note', happenedOn: '2026-10-01', text: 'Secret thought.' });
  await note({ kind: 'conversation', happenedOn: '2026-10-02', text: 'Not for their eyes.' });
  await note({ kind: 'letter', happenedOn: '2026-10-03', text: 'Shared words.', shared: true });
  const page = await mine();
  expect(page).toContain('Development points');
  expect(page).toContain('Shared words.');
  expect(page).not.toContain('Secret thought.');
  expect(page).not.toContain('Not for their eyes.');
  await official.get(`/api/development-points/${id}`).expect(403);
  await official.get(`/development-points/${id}`).expect(403);
  const { rows } = await database.pool.query<{ id: string }>(
    "INSERT INTO conference (slug, name) VALUES ('other-conference', 'Other') RETURNING id",
  );
  const stranger = await personSignedIn(app, rows[0]!.id, ['coordinator']);
  await stranger.agent.get(`/api/development-points/${id}`).expect(404);
  await stranger.agent.get(`/development-points/${id}`).expect(404);
});

it('works by forms, and keeps what was typed when a day is wrong', async () => {
  const created = await coordinator
    .post(`/seasons/${database.seasonId}/development-points`)
    .type('form')
    .send({ ...input(), situationCut: '', text: '' })
    .expect(303);
  const address = created.headers.location!;
  const wrong = await coordinator
    .post(`${address}/steps`)
    .type('form')
    .send({ kind: 'letter', happenedOn: 'yesterday', text: 'Typed with care' })
    .expect(400);
  expect(wrong.text).toContain('happenedOn must be a day');
  expect(wrong.text).toContain('Typed with care');
  await coordinator
    .post(`${address}/steps`)
    .type('form')
    .send({ kind: 'letter', happenedOn: '2026-10-01', text: 'Typed with care' })
    .expect(303);
  await coordinator.post(`${address}/close`).type('form').send({ happenedOn: '', text: '' }).expect(400);
  const page = await coordinator.get(address).expect(200);
  expect(page.text).toContain('Typed with care');
});
