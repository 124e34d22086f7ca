// @module-tag long
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
let umpire: SignedInAgent;
let clinic: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 1);
  const as = (personId: string) => inSessionOf(app, { conferenceId: game.conferenceId, personId });
  coordinator = await as(game.coordinatorId);
  umpire = await as(game.crew.umpire!);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function read(agent: SignedInAgent, address: string) {
  const answer = await agent.get(address).expect(200);
  const { results } = await validator.validateString(answer.text);
  expect(
    results.flatMap(({ messages }) => messages).map(({ message, line }) => `${line}: ${message}`),
  ).toEqual([]);
  return parseHTML(answer.text).document.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');
}
const send = (address: string, fields: Record<string, string | string[]>) =>
  coordinator.post(address).type('form').send(fields);

test('a clinic for a position is made and its officials are told', async () => {
  const list = `/seasons/${game.seasonId}/clinics`;
  const fields = {
    title: 'Umpires’ clinic',
    heldOn: '2099-07-20',
    place: 'Office',
    minutes: '90',
    makeUp: 'Watch the recording.',
    audience: 'positions',
  };
  const wrong = await send(list, fields).expect(400);
  expect(wrong.text).toContain('Choose at least one position');
  const made = await send(list, { ...fields, positions: 'umpire' }).expect(303);
  clinic = made.headers.location!;
  const { rows } = await database.pool.query(
    `SELECT person_id AS id, facts FROM message WHERE kind = 'clinic'`,
  );
  expect(rows.map(({ id }) => id)).toEqual([game.crew.umpire]);
  expect(rows[0].facts).toMatchObject({ heldOn: '2099-07-20', makeUp: 'Watch the recording.' });
  expect(await read(coordinator, clinic)).toContain('0 of 1 were there');
  expect(await read(umpire, '/my/quizzes')).toContain('Umpires’ clinic not noted yet');
});

test('a form sent twice at once makes one clinic and tells once', async () => {
  const fields = { title: 'Autumn clinic', heldOn: '2199-10-01', audience: 'officials' };
  const address = `/seasons/${game.seasonId}/clinics`;
  const both = await Promise.all([send(address, fields), send(address, fields)]);
  expect(both.map(({ status }) => status).sort()).toEqual([303, 400]);
  expect(both.find(({ status }) => status === 400)!.text).toContain('There is a clinic of this title');
  const [own] = (
    await database.pool.query(
      `SELECT count(*)::int AS told FROM message WHERE kind = 'clinic' AND person_id = $1 AND facts->>'title' = $2`,
      [game.crew.umpire, fields.title],
    )
  ).rows;
  expect(own.told).toBe(1);
  const made = both.find(({ status }) => status === 303)!.headers.location!;
  await send(`${made}/delete`, {}).expect(303);
  const { rows: told } = await database.pool.query(
    `SELECT facts->>'what' AS what FROM message WHERE kind = 'clinic' AND person_id = $1 AND facts->>'title' = $2
      ORDER BY happened_at, id`,
    [game.crew.umpire, fields.title],
  );
  expect(told).toEqual([{ what: 'asked' }, { what: 'called off' }]);
  expect(await read(umpire, '/messages')).toContain('Called off: Autumn clinic');
  await database.pool.query(`DELETE FROM message WHERE facts->>'title' = $1`, [fields.title]);
});

test('attendance is ticked, made up, excused; of nobody who was not asked', async () => {
  const umpireId = game.crew.umpire!;
  await send(`${clinic}/attendance`, {
    [`state-${umpireId}`]: 'made up',
    [`note-${umpireId}`]: 'Watched it.',
  }).expect(303);
  expect(await read(coordinator, clinic)).toContain('1 of 1 were there or made it up');
  expect(await read(umpire, '/my/quizzes')).toContain('made up');
  const { body } = await coordinator.get(`/api/seasons/${game.seasonId}/clinics`).expect(200);
  expect(body).toMatchObject([{ asked: 1, attended: 0, madeUp: 1, open: 0 }]);
  await coordinator
    .put(`/api${clinic}/attendance`)
    .send({ people: [{ officialId: game.crew.referee, state: 'attended' }] })
    .expect(400);
  const csv = await coordinator.get(`/api/seasons/${game.seasonId}/clinics.csv`).expect(200);
  expect(csv.text.split('\r\n')[1]).toMatch(/,made up,Watched it\.$/);
  const kept = await send(`${clinic}/delete`, {}).expect(409);
  expect(kept.text).toContain('this clinic stays');
  expect(await read(coordinator, `/seasons/${game.seasonId}/clinics`)).toContain('0 of 1');
});

test('one that was held already is noted without telling anybody; others see none of it', async () => {
  const { body } = await coordinator
    .post(`/api/seasons/${game.seasonId}/clinics`)
    .send({ title: 'Spring clinic', heldOn: '2020-03-01' })
    .expect(201);
  expect(body.people.length).toBeGreaterThan(5);
  const { rows } = await database.pool.query(
    `SELECT count(*)::int AS told FROM message WHERE kind = 'clinic'`,
  );
  expect(rows[0].told).toBe(1);
  // One was away; all others are noted in one press.
  const [away, ...others] = (body.people as { officialId: string }[]).map(({ officialId }) => officialId);
  await send(`/clinics/${body.id}/attendance`, {
    ...Object.fromEntries(others.map((id) => [`state-${id}`, 'open'])),
    [`state-${away}`]: 'missed',
    act: 'all there',
  }).expect(303);
  expect(await read(coordinator, `/clinics/${body.id}`)).toContain(
    `${others.length} of ${body.people.length} were there`,
  );
  await umpire.get(`/clinics/${body.id}`).expect(403);
  await umpire.get(`/api/seasons/${game.seasonId}/clinics`).expect(403);
});

test('two who note at once keep what both noted, and are told where they differ', async () => {
  const { body } = await coordinator
    .post(`/api/seasons/${game.seasonId}/clinics`)
    .send({ title: 'Winter clinic', heldOn: '2020-02-01' })
    .expect(201);
  const here = `/clinics/${body.id}`;
  const shown = parseHTML((await coordinator.get(here)).text).document;
  const ids = body.people.map(({ officialId }: { officialId: string }) => officialId) as string[];
  // All rows go along with each form, as the page sends them.
  const sent = (noted: Record<string, string>) =>
    Object.fromEntries(
      ids.flatMap((id) => [
        [`was-${id}`, shown.querySelector(`[name="was-${id}"]`)!.getAttribute('value')!],
        [`state-${id}`, noted[id] ?? 'open'],
        [`note-${id}`, ''],
      ]),
    );
  await send(`${here}/attendance`, sent({ [ids[0]!]: 'attended', [ids[2]!]: 'excused' })).expect(303);
  const second = await send(`${here}/attendance`, sent({ [ids[1]!]: 'missed', [ids[2]!]: 'missed' })).expect(
    303,
  );
  expect(await read(coordinator, second.headers.location!)).toContain('of one official somebody else noted');
  const all = { ...sent({}), act: 'all there' };
  await send(`${here}/attendance`, all).expect(303);
  const now = parseHTML((await coordinator.get(here)).text).document;
  const states = ids.map((id) => now.querySelector(`[name="state-${id}"][checked]`)!.getAttribute('value'));
  expect(states.slice(0, 4)).toEqual(['attended', 'missed', 'excused', 'attended']);
});

test('a sheet that is filled in elsewhere comes back by a file, checked first, and notes who was there', async () => {
  const { body } = await coordinator
    .post(`/api/seasons/${game.seasonId}/clinics`)
    .send({ title: 'Sheet clinic', heldOn: '2020-01-01' })
    .expect(201);
  const list = parseHTML((await coordinator.get(`/seasons/${game.seasonId}/clinics`)).text).document;
  const href = list.querySelector('a[href*="clinic-attendance"]')!.getAttribute('href')!;
  const { text } = await coordinator.get(href).expect(200);
  const lines = text.replace(/^\uFEFF/, '').split('\r\n');
  const mine = lines.filter((one) => one.includes('Sheet clinic'));
  expect(mine).toHaveLength(body.people.length);
  const [first, second] = mine as [string, string];
  expect(first).toMatch(/,,$/);
  const filled = [
    lines[0],
    first.replace(/,,$/, ',attended,'),
    second.replace(/,,$/, ',missed,At work'),
  ].join('\n');
  const send = (query: string, file: string) =>
    coordinator.post(`/api/imports/clinic-attendance${query}`).type('text/csv').send(file);
  const states = async () =>
    (await read(coordinator, `/seasons/${game.seasonId}/clinics`)).replaceAll(/\s+/g, ' ');
  const checked = await send('?check=true', filled).expect(200);
  expect(checked.body).toMatchObject({ applied: false, fits: true, added: 2 });
  expect(await states()).toContain(`0 of ${body.people.length}`);
  const wrong = await send('', filled.replace('attended', 'there')).expect(422);
  expect(wrong.body.outcome.problems).toMatchObject([{ line: 2, column: 'attendance', value: 'there' }]);
  const done = await send('', filled).expect(200);
  expect(done.body).toMatchObject({ applied: true, added: 2 });
  expect(await states()).toContain(`1 of ${body.people.length}`);
});

test('a closed season keeps its clinics as they are', async () => {
  await database.pool.query(`UPDATE season SET state = 'closed', closed_at = now() WHERE id = $1`, [
    game.seasonId,
  ]);
  await send(`${clinic}/attendance`, { [`state-${game.crew.umpire!}`]: 'missed' }).expect(409);
  expect(await read(coordinator, clinic)).toContain('1 of 1');
});
