// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { makePerson } from '../../support/people.ts';
import type { SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';
import { type WithOffers, withOffers, wordsOf } from './with-offers.ts';

// An official answers by telephone, and the coordinator writes it down: both sides read by whom, and nobody is answered for unseen.

let database: TestDatabase;
let app: FastifyInstance;
let made: WithOffers;
let umpire: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  made = await withOffers(database, app);
  umpire = await made.as(made.crew.umpire!);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const note = 'Taken by the coordinator, November 27, 7 p.m.';
const record = (id: string, offerId: string, body: object) =>
  made.coordinator.post(`${made.at(id)}/${offerId}/recorded-answer`).send({ note, ...body });

test('accepted by telephone, after the last day too: shown as written down on both sides, and told', async () => {
  const { id } = await made.offered('Call');
  const { id: offerId } = await made.offerOf(id, 'umpire');
  await made.late(offerId);
  await record(id, offerId, { answer: 'accepted', reason: 'Gladly.' }).expect(200);
  expect(await made.offerOf(id, 'umpire')).toMatchObject({
    ...{ standing: 'accepted', reason: 'Gladly.', recordedNote: note },
    recordedBy: made.game.coordinatorId,
  });
  const coordinator = await made.nameOf(made.game.coordinatorId);
  const page = wordsOf((await made.coordinator.get(`/postseason/${id}/offers`).expect(200)).text);
  expect(page).toContain(`by telephone, written down by ${coordinator}: ${note}`);
  const own = wordsOf((await umpire.get('/my/postseason').expect(200)).text);
  expect(own).toContain(`${coordinator} wrote this down as what you told by telephone: ${note}`);
  expect(own).toContain(`If that is not what you said, tell ${coordinator} at once.`);
  const mine = await umpire.get('/api/my/postseason-offers').expect(200);
  const one = mine.body.find((offer: { id: string }) => offer.id === offerId);
  expect(one).toMatchObject({ recorder: coordinator, recordedNote: note, standing: 'accepted' });
  const told = await made.told(made.crew.umpire!, 'postseason answer recorded', offerId);
  expect(told).toEqual([
    expect.objectContaining({ answer: 'accepted', by: coordinator, note, reason: 'Gladly.' }),
  ]);
  // The official's own later word is met by who wrote theirs down.
  const late = await made.answer(umpire, offerId, { answer: 'declined' }).expect(409);
  expect(late.body.detail).toContain(`${coordinator} wrote down on`);
});

test('declined by telephone: the place is free, and the other coordinators are told', async () => {
  const { id } = await made.offered('Call off');
  const { personId: other } = await makePerson(database.pool, made.game.conferenceId, ['coordinator']);
  const { id: offerId } = await made.offerOf(id, 'umpire');
  await record(id, offerId, { answer: 'declined' }).expect(200);
  expect((await made.chosenIn(id)).some(({ slot }) => slot === 'umpire')).toBe(false);
  expect(await made.told(other, 'postseason offer declined', id)).toHaveLength(1);
  expect(await made.told(made.game.coordinatorId, 'postseason offer declined', id)).toEqual([]);
  const { rows } = await database.pool.query(
    `SELECT reason, actor_id AS "actorId" FROM audit_entry
      WHERE subject_id = $1 AND action = 'selection: offer declined by telephone'`,
    [id],
  );
  expect(rows).toEqual([{ reason: note, actorId: made.game.coordinatorId }]);
});

test('an answer that was given stays; what is missing is named', async () => {
  const { id } = await made.offered('Stays');
  const { id: offerId } = await made.offerOf(id, 'umpire');
  const wordless = await record(id, offerId, { answer: 'accepted', note: ' ' }).expect(400);
  expect(wordless.body.errors).toEqual([{ field: 'body.note', message: 'say who took the call, and when' }]);
  const neither = await record(id, offerId, { answer: 'maybe' }).expect(400);
  expect(neither.body.errors[0].field).toBe('body.answer');
  await made.answer(umpire, offerId, { answer: 'accepted', reason: 'Gladly.' }).expect(200);
  const name = await made.nameOf(made.crew.umpire!);
  for (const answer of ['accepted', 'declined']) {
    const { body } = await record(id, offerId, { answer }).expect(409);
    expect(body.detail).toMatch(
      new RegExp(`^${name} accepted umpire on .+ already, and the first answer stands`),
    );
  }
  expect(await made.offerOf(id, 'umpire')).toMatchObject({
    ...{ standing: 'accepted', reason: 'Gladly.', recordedBy: null, recordedNote: '' },
  });
  const { id: refused } = await made.offerOf(id, 'referee');
  await record(id, refused, { answer: 'declined' }).expect(200);
  const twice = await record(id, refused, { answer: 'accepted' }).expect(409);
  expect(twice.body.detail).toContain('has declined referee already');
  await umpire
    .post(`${made.at(id)}/${offerId}/recorded-answer`)
    .send({ answer: 'accepted', note })
    .expect(403);
});

test('on the page: refused with what was typed, then kept', async () => {
  const { id } = await made.offered('Page');
  const { id: offerId } = await made.offerOf(id, 'umpire');
  const at = `/postseason/${id}/offers/${offerId}/telephone`;
  const { text } = await made.coordinator
    .post(at)
    .type('form')
    .send({ answer: 'accepted', note: '', reason: 'She said yes.' })
    .expect(400);
  expect(text).toContain('value="She said yes."');
  expect(wordsOf(text)).toContain('say who took the call, and when');
  await made.coordinator.post(at).type('form').send({ answer: 'accepted', note }).expect(303);
  expect(await made.offerOf(id, 'umpire')).toMatchObject({ standing: 'accepted', recordedNote: note });
});
