// @module-tag long
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { filmOfGame } from './film-of-game.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
const observers: { agent: SignedInAgent; personId: string }[] = [];
let set: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 8);
  const { conferenceId } = game;
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
  for (const personId of [game.observerId, game.secondObserverId])
    observers.push({ personId, agent: await inSessionOf(app, { conferenceId, personId }) });
  for (let more = 0; more < 3; more++) observers.push(await personSignedIn(app, conferenceId, ['observer']));
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

// By the HTML standard, as tests/web/html.api.test.ts has it for the pages of the demo season.
const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function read(agent: SignedInAgent, address: string, status = 200) {
  const answer = await agent.get(address).expect(status);
  const { results } = await validator.validateString(answer.text);
  expect(results.flatMap(({ messages }) => messages).map(({ message }) => message)).toEqual([]);
  return parseHTML(answer.text).document;
}
const words = (document: Document) => document.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');
const send = (agent: SignedInAgent, address: string, fields: Record<string, string | string[]>) =>
  agent.post(address).type('form').send(fields);

/** What the form of a clip asks, by the names of its radio buttons. */
const asked = (document: Document) => [
  ...new Set([...document.querySelectorAll('input[type=radio]')].map((one) => one.getAttribute('name')!)),
];

test('a set from nothing: made, clips put in, opened only with film and two observers', async () => {
  const wrong = await send(coordinator, `/seasons/${game.seasonId}/calibration`, { title: '' }).expect(400);
  expect(wrong.text).toContain('give the set a title');
  const made = await send(coordinator, `/seasons/${game.seasonId}/calibration`, {
    title: 'August clips',
    dueOn: '2030-08-01',
  }).expect(303);
  set = made.headers.location!.replace('/calibration/', '');
  expect(words(await read(coordinator, `/calibration/${set}`))).toContain('No game of');

  const api = `/api/seasons/${game.seasonId}/calibration-sets`;
  const film = { playId: game.playIds[0]!, position: 'umpire' };
  const other = await coordinator
    .post(api)
    .send({ title: 'No film', clips: [film] })
    .expect(201);
  const refused = await coordinator
    .post(`/api/calibration-sets/${other.body.id}/open`)
    .send({ observers: observers.map(({ personId }) => personId) })
    .expect(409);
  expect(refused.body.detail).toContain('Clip 1 cannot be watched here: There is no film of its game here.');

  await filmOfGame(database.pool, game);
  for (const number of ['1', '2', '3'])
    await send(coordinator, `/calibration/${set}/clips`, {
      ...{ game: game.gameId, number, position: 'umpire' },
    }).expect(303);
  const none = await send(coordinator, `/calibration/${set}/clips`, {
    ...{ game: game.gameId, number: '99', position: 'umpire' },
  }).expect(400);
  expect(none.text).toContain('has no play of that number');
  const alone = await send(coordinator, `/calibration/${set}/open`, {
    observer: [observers[0]!.personId],
  }).expect(400);
  expect(alone.text).toContain('ask two observers or more');

  await send(coordinator, `/calibration/${set}/clips/3/remove`, {}).expect(303);
  const four = observers.slice(0, 4).map(({ personId }) => personId);
  await send(coordinator, `/calibration/${set}/open`, { observer: four }).expect(303);
  await send(coordinator, `/calibration/${set}/clips/1/remove`, {}).expect(409);
});

test('those asked are told, with the day; a fifth observer is not, and finds nothing', async () => {
  const { rows } = await database.pool.query(
    `SELECT person_id AS id, id AS message, facts FROM message WHERE conference_id = $1 AND kind = 'reminder'`,
    [game.conferenceId],
  );
  expect(rows.map(({ id }) => id).sort()).toEqual(
    observers
      .slice(0, 4)
      .map(({ personId }) => personId)
      .sort(),
  );
  expect(rows[0].facts).toMatchObject({
    of: 'calibration',
    title: 'August clips',
    clips: 2,
    dueOn: '2030-08-01',
  });
  // On their desk, one step from the first clip.
  const desk = (await observers[0]!.agent.get('/desk').expect(200)).text;
  expect(desk).toMatch(/href="\/calibration\/[^"]+\/mark">August clips<\/a>/);
  expect(desk).toContain('2 clips, each observer alone.');
  expect((await observers[4]!.agent.get('/desk').expect(200)).text).not.toContain('August clips');
  const own = rows.find(({ id }) => id === observers[0]!.personId)!;
  const told = await observers[0]!.agent.get(`/messages/${own.message}`).expect(200);
  expect(told.text).toContain('August clips');
  expect(told.text).toContain(`/calibration/${set}/mark`);
  for (const address of ['mark', 'clips/1', 'clips/1/film'])
    await observers[4]!.agent.get(`/calibration/${set}/${address}`).expect(404);
  expect(words(await read(observers[4]!.agent, '/my/calibration'))).toContain('not been asked');
});

test('each marks blind: nothing of the others is on any page, nor in the coordinator’s answer', async () => {
  const [first, second] = [observers[0]!, observers[1]!];
  const clip = await read(first.agent, `/calibration/${set}/clips/1`);
  const items = asked(clip);
  expect(items).toContain('item.everybodys-duty');
  expect(items.length).toBeGreaterThan(2);
  const half = await send(first.agent, `/calibration/${set}/clips/1`, {
    'item.everybodys-duty': 'not met',
  }).expect(400);
  const again = parseHTML(half.text).document;
  expect(words(again)).toContain('say what you saw, or that it could not be seen');
  // What was answered is still there.
  expect(again.querySelector('input[name="item.everybodys-duty"][checked]')!.getAttribute('value')).toBe(
    'not met',
  );

  const all = (finding: string) => Object.fromEntries(items.map((item) => [item, finding]));
  await send(first.agent, `/calibration/${set}/clips/1`, all('not met')).expect(303);
  const others = await read(second.agent, `/calibration/${set}/clips/1`);
  expect(others.querySelector('input[checked]')).toBeNull();
  expect(words(await read(second.agent, `/calibration/${set}/mark`))).not.toMatch(
    /panel marked|done or right/,
  );
  const open = (await coordinator.get(`/api/calibration-sets/${set}`).expect(200)).body;
  expect(open.panel).toBeNull();
  expect(JSON.stringify(open)).not.toContain('not met');
  await coordinator.get(`/api/calibration-sets/${set}/panel.csv`).expect(409);
  // Not even a coordinator marks in an observer's name.
  await coordinator.get(`/calibration/${set}/clips/1`).expect(403);
});

const watched = 'item.everybodys-duty';

test('handed in only when all is marked, and then it stays; the rest are reminded', async () => {
  const early = await send(observers[0]!.agent, `/calibration/${set}/hand-in`, {}).expect(409);
  expect(early.text).toContain('Clip 2 is not marked yet');
  for (const [at, { agent }] of observers.slice(0, 4).entries())
    for (const number of [1, 2]) {
      const items = asked(await read(agent, `/calibration/${set}/clips/${number}`));
      // On clip 1 two against two; on clip 2 all alike.
      const finding = number === 1 && at < 2 ? 'not met' : 'met';
      const answer = await send(
        agent,
        `/calibration/${set}/clips/${number}`,
        Object.fromEntries(
          items.map((item) => [item, item === items.at(-1) && item !== watched ? 'not seen' : finding]),
        ),
      ).expect(303);
      expect(answer.headers.location).toMatch(number === 1 && at > 0 ? /clips\/2$/ : /(mark|clips\/2)$/);
    }
  for (const { agent } of observers.slice(0, 3))
    await send(agent, `/calibration/${set}/hand-in`, {}).expect(303);
  await send(observers[0]!.agent, `/calibration/${set}/clips/1`, {
    [watched]: 'met',
  }).expect(409);
  await expect(
    database.pool.query(`UPDATE calibration_mark SET finding = 'met' WHERE observer_id = $1`, [
      observers[0]!.personId,
    ]),
  ).rejects.toThrow('cannot be changed any more');

  await send(coordinator, `/calibration/${set}/remind`, {}).expect(303);
  const { rows } = await database.pool.query(
    `SELECT person_id AS id FROM message WHERE conference_id = $1 AND facts ->> 'of' = 'calibration still'`,
    [game.conferenceId],
  );
  expect(rows.map(({ id }) => id)).toEqual([observers[3]!.personId]);
  await send(observers[3]!.agent, `/calibration/${set}/hand-in`, {}).expect(303);
});

test('closed, the panel is shown: to the coordinator with names, to observers without', async () => {
  await send(coordinator, `/calibration/${set}/close`, {}).expect(303);
  const page = await read(coordinator, `/calibration/${set}`);
  expect(words(page)).toContain('observers split 2 to 2');
  expect(words(page)).toContain('4 of 4 observers handed in');
  const { panel } = (await coordinator.get(`/api/calibration-sets/${set}`).expect(200)).body;
  expect(panel.units).toContainEqual({
    ...{ clip: 1, duty: 'everybodys-duty', met: 2, notMet: 2, notSeen: 0, split: true },
  });
  const csv = await coordinator.get(`/api/calibration-sets/${set}/panel.csv`).expect(200);
  expect(csv.text).toContain('1,Everybody watches players,2,2,0,yes\r\n');

  const mine = words(await read(observers[0]!.agent, `/calibration/${set}/mark`));
  expect(mine).toContain('2 done or right, 2 not, 0 could not see');
  const { rows } = await database.pool.query<{ name: string }>(
    'SELECT given_name AS name FROM person WHERE id = ANY ($1::uuid[])',
    [observers.slice(1).map(({ personId }) => personId)],
  );
  for (const { name } of rows) expect(mine).not.toContain(name);
});

test('a split becomes a program for observers with one button', async () => {
  const opened = await send(coordinator, `/calibration/${set}/lesson`, {
    ...{ number: '1', duty: 'everybodys-duty' },
  }).expect(303);
  const program = (
    await coordinator.get(
      `/api${opened.headers.location!.replace('/training/programs', '/training-programs')}`,
    )
  ).body;
  expect(program).toMatchObject({ audience: 'observers', title: 'Seen alike: Everybody watches players' });
  expect(program.plays).toMatchObject([
    { playId: game.playIds[0], showing: 'to discuss', position: 'umpire' },
  ]);
  await send(coordinator, `/calibration/${set}/lesson`, { number: '1', duty: 'nothing' }).expect(404);
});

test('another conference finds nothing of it', async () => {
  const elsewhere = await oneGame(database.pool, 2);
  const stranger = await inSessionOf(app, {
    conferenceId: elsewhere.conferenceId,
    personId: elsewhere.coordinatorId,
  });
  await stranger.get(`/calibration/${set}`).expect(404);
  await stranger.get(`/api/calibration-sets/${set}`).expect(404);
  await stranger.get(`/calibration/${set}/clips/1/film`).expect(404);
});
