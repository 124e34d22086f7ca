// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { startingConsequenceWeights } from '../../server/duties/consequence.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { readRubric, readVersions } from '../../server/rubric/read-rubric.ts';
import { startRubric } from '../../server/rubric/start-rubric.ts';
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
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, 20);
  coordinator = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.coordinatorId });
});

const starting = startingConsequenceWeights;
const dearer = { ...starting, score: 6 };
const rubric = async (number?: number) =>
  (await readRubric(database.pool, game.conferenceId, game.seasonId, number))!;
const put = (body: object) =>
  coordinator.put(`/api/seasons/${game.seasonId}/rubric/consequence-weights`).send(body);

async function fileAReport(): Promise<void> {
  await inTransaction(database.pool, async (client) => {
    const acting = { conferenceId: game.conferenceId, personId: game.observerId };
    await confirmCrew(client, acting, game.gameId);
    const id = await openReport(client, acting, { gameId: game.gameId, observerId: game.observerId });
    await fileReport(client, acting, id);
  });
}

test('a version that was made before anybody chose has the starting weights', async () => {
  // oneGame writes its version without naming any: what the database fills in is what the program starts with.
  expect((await rubric()).consequenceWeights).toEqual(starting);
});

test('weights belong to the version: changed itself while unused, a new one once a report was filed with it', async () => {
  await put({ weights: dearer, seen: starting, note: 'As the staff agreed.' }).expect(200, {
    number: 1,
    newVersion: false,
  });
  await fileAReport();
  const cheaper = { ...dearer, yards: 1, none: 0.5 };
  await put({ weights: cheaper, seen: dearer }).expect(200, { number: 2, newVersion: true });
  expect((await rubric(1)).consequenceWeights).toEqual(dearer);
  expect((await rubric(2)).consequenceWeights).toEqual(cheaper);
  expect((await rubric(2)).duties).toEqual((await rubric(1)).duties);
  const { body } = await coordinator.get(`/api/seasons/${game.seasonId}/rubric`).expect(200);
  expect(body.consequenceWeights).toEqual(cheaper);
  const trail = await database.pool.query(
    `SELECT action, reason, before, after FROM audit_entry WHERE conference_id = $1 AND action LIKE 'weights%'
      ORDER BY number`,
    [game.conferenceId],
  );
  expect(trail.rows).toEqual([
    {
      action: 'weights of consequences changed',
      reason: 'As the staff agreed.',
      before: starting,
      after: dearer,
    },
    { action: 'weights of consequences changed', reason: null, before: dearer, after: cheaper },
  ]);
  expect((await coordinator.get(`/seasons/${game.seasonId}/rubric/versions/2`)).text).toContain(
    '<th scope="row">cost yards</th><td class="num">1.5</td><td class="num">1</td>',
  );

  // Another season that takes the rubric over takes the weights too.
  const { rows } = await database.pool.query<{ id: string }>(
    "INSERT INTO season (conference_id, name) VALUES ($1, 'Next') RETURNING id",
    [game.conferenceId],
  );
  const actor = { conferenceId: game.conferenceId, personId: game.coordinatorId };
  await inTransaction(database.pool, (client) =>
    startRubric(client, actor, rows[0]!.id, { seasonId: game.seasonId }),
  );
  const [version] = await readVersions(database.pool, game.conferenceId, rows[0]!.id);
  expect(version!.consequenceWeights).toEqual(cheaper);
});

test.each([
  [{ score: 20.5 }, 'weights.score', 'must be at most 20'],
  [{ score: 0.05 }, 'weights.score', 'must be at least 0.1'],
  [{ score: 'much' }, 'weights.score', 'must be a number'],
])('%o is refused with the field and the fix', async (wrong, field, fix) => {
  const answer = await put({ weights: { ...starting, ...wrong }, seen: starting }).expect(400);
  expect(answer.headers['content-type']).toContain('application/problem+json');
  expect(JSON.stringify(answer.body.errors)).toContain(field.split('.')[1]);
  expect(JSON.stringify(answer.body.errors)).toContain(fix);
  expect((await rubric()).consequenceWeights).toEqual(starting);
});

test('weights that somebody changed in the meantime are not overwritten; the same ones change nothing', async () => {
  await put({ weights: dearer, seen: starting }).expect(200);
  await put({ weights: { ...starting, yards: 2 }, seen: starting }).expect(409);
  await put({ weights: dearer, seen: dearer }).expect(400);
  expect((await rubric()).consequenceWeights).toEqual(dearer);
});

test('the page shows what is wrong beside the field, keeps what was typed, and is read by all', async () => {
  const address = `/seasons/${game.seasonId}/rubric/consequences`;
  const seen = '1 1.5 2.5 4';
  expect((await coordinator.get(address).expect(200)).text).toContain(`name="seen" value="${seen}"`);
  const sent = { seen, none: '1', yards: '', possession: '30', score: '5,5', note: 'Because' };
  const refused = await coordinator.post(address).type('form').send(sent).expect(422);
  expect(refused.text).toContain('Must be at most 20');
  expect(refused.text).toContain('Must be a number, such as 2.5');
  expect(refused.text).toContain('value="5,5"');
  expect(refused.text).toContain('value="Because"');
  await coordinator
    .post(address)
    .type('form')
    .send({ ...sent, yards: '1.5', possession: '3' })
    .expect(303);
  expect((await rubric()).consequenceWeights).toEqual({ none: 1, yards: 1.5, possession: 3, score: 5.5 });
  const stale = await coordinator
    .post(address)
    .type('form')
    .send({ ...sent, yards: '2', possession: '3' });
  expect(stale.status).toBe(409);
  expect(stale.text).toContain('Your entries are kept below');
  expect(stale.text).toContain('name="seen" value="1 1.5 3 5.5"');

  const official = await inSessionOf(app, {
    conferenceId: game.conferenceId,
    personId: game.crew['line judge']!,
  });
  const read = await official.get(address).expect(200);
  expect(read.text).toContain('<th scope="row">A call that cost a score</th><td class="num">5.5</td>');
  expect(read.text).not.toContain('name="score"');
  await official.post(address).type('form').send(sent).expect(403);
});
