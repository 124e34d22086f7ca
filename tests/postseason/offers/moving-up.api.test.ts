// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';
import { type WithOffers, withOffers, wordsOf } from './with-offers.ts';

// Somebody declined, and the alternate of the game takes the place: one step, one word to them, and a reason that stays.

let database: TestDatabase;
let app: FastifyInstance;
let made: WithOffers;
let umpire: SignedInAgent;
let alternate: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  made = await withOffers(database, app);
  umpire = await made.as(made.crew.umpire!);
  alternate = await made.as(made.crew['back judge']!);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

async function declined(title: string) {
  const selection = await made.offered(title);
  const { id: offerId } = await made.offerOf(selection.id, 'umpire');
  await made.answer(umpire, offerId, { answer: 'declined' }).expect(200);
  return selection;
}
const moveUp = (id: string, gameId: string, more: object = {}) =>
  made.coordinator.post(`${made.at(id)}/move-up`).send({
    ...{ gameId, slot: 'umpire', alternate: 'alternate 1', reason: 'Named by the committee for this.' },
    ...more,
  });

test('an alternate who accepted takes the place, is told of one new place, and never of a withdrawal', async () => {
  const { id, gameId } = await declined('Up');
  const earlier = await made.offerOf(id, 'alternate 1');
  await made.answer(alternate, earlier.id, { answer: 'accepted', reason: 'Gladly.' }).expect(200);
  await moveUp(id, gameId, { answerBy: '2199-12-01' }).expect(201);

  const now = await made.offerOf(id, 'umpire');
  expect(now).toMatchObject({
    ...{ officialId: made.crew['back judge'], position: 'umpire', standing: 'waiting' },
    answerBy: '2199-12-01',
  });
  // What they wrote as an alternate stays theirs.
  expect(await made.offerOf(id, 'alternate 1')).toMatchObject({ standing: 'moved up', reason: 'Gladly.' });
  const choices = await made.chosenIn(id);
  expect(choices.find(({ slot }) => slot === 'umpire')).toMatchObject({
    ...{ officialId: made.crew['back judge'], reason: 'Named by the committee for this.' },
  });
  expect(choices.some(({ slot }) => slot === 'alternate 1')).toBe(false);

  const official = made.crew['back judge']!;
  expect(await made.told(official, 'postseason offer withdrawn', earlier.id)).toEqual([]);
  const [message, ...more] = await made.told(official, 'postseason offer', now.id);
  expect(more).toEqual([]);
  expect(message).toMatchObject({ what: 'moved up', place: 'umpire', instead: 'alternate 1, as umpire' });
  expect(JSON.stringify(message)).not.toContain('Named by the committee');
  const { rows } = await database.pool.query(
    `SELECT id FROM message WHERE person_id = $1 AND about_id = $2`,
    [official, now.id],
  );
  const { text } = await alternate.get(`/messages/${rows[0].id}`).expect(200);
  expect(wordsOf(text)).toContain('You were offered this game as alternate 1, as umpire.');
  expect(wordsOf(text)).toContain('keep the day');
  expect(wordsOf(text)).not.toContain('do not travel');
  const own = wordsOf((await alternate.get('/my/postseason').expect(200)).text);
  expect(own).toContain('You were offered another place of this game instead');
  expect(own).not.toContain('do not travel');
  expect(own).not.toContain('Named by the committee');

  await made.answer(alternate, now.id, { answer: 'accepted' }).expect(200);
  const old = await made.answer(alternate, earlier.id, { answer: 'declined' }).expect(409);
  expect(old.body.detail).toContain('You were offered another place of this game instead');
  const again = await made.coordinator
    .post(`${made.at(id)}/${earlier.id}/withdrawal`)
    .send({ reason: 'Again.' })
    .expect(409);
  expect(again.body.detail).toContain('was offered another place of the game instead');
});

test('the history keeps who moved, from where, to where and why', async () => {
  const { id, gameId } = await declined('Trail');
  await moveUp(id, gameId).expect(201);
  const { rows } = await database.pool.query(
    `SELECT before, after, reason
       FROM audit_entry WHERE subject_id = $1 AND action = 'selection: alternate moved up'`,
    [id],
  );
  expect(rows).toEqual([
    {
      before: expect.objectContaining({ slot: 'alternate 1', officialId: made.crew['back judge'] }),
      after: expect.objectContaining({ slot: 'umpire', officialId: made.crew['back judge'] }),
      reason: 'Named by the committee for this.',
    },
  ]);
});

test('whoever is passed over by it has the reason recorded of them, and only they', async () => {
  const { id, gameId } = await declined('Over');
  const line = (officialId: string, place: number, tier: number) => ({
    ...{ officialId, tier, rank: { place }, eligible: 'met' },
  });
  const [ahead, failing] = [made.crew['side judge']!, made.crew['field judge']!];
  const lines = [
    line(ahead, 1, 1),
    { ...line(failing, 2, 1), eligible: 'not met' },
    line(made.crew['back judge']!, 3, 1),
    line(made.crew['center judge']!, 4, 2),
  ];
  await database.pool.query('UPDATE selection SET basis = $2 WHERE id = $1', [
    id,
    JSON.stringify({ games: [{ gameId, positions: [{ position: 'umpire', lines }] }] }),
  ]);
  const page = wordsOf((await made.coordinator.get(`/postseason/${id}/offers`).expect(200)).text);
  const name = await made.nameOf(ahead);
  expect(page).toContain(`Ranked higher and passed over by it: ${name}. Your reason is kept of them, too.`);
  await moveUp(id, gameId).expect(201);
  const { rows } = await database.pool.query(
    'SELECT official_id AS "officialId", chosen_id AS "chosenId", kind, reason FROM selection_pass_over WHERE selection_id = $1',
    [id],
  );
  expect(rows).toEqual([
    {
      ...{ officialId: ahead, chosenId: made.crew['back judge'], kind: 'same tier' },
      reason: 'Named by the committee for this.',
    },
  ]);
});

test('who declared a conflict with one of those compared does not move anybody', async () => {
  const { id, gameId } = await declined('Tied');
  await database.pool.query(
    `INSERT INTO selection_member (conference_id, selection_id, person_id, kind, added_by, conflicts_declared_at)
     VALUES ($1, $2, $3, 'coordinator', $3, now())`,
    [made.game.conferenceId, id, made.game.coordinatorId],
  );
  await database.pool.query(
    `INSERT INTO selection_conflict (conference_id, selection_id, member_id, official_id, reason)
     VALUES ($1, $2, $3, $4, 'Family.')`,
    [made.game.conferenceId, id, made.game.coordinatorId, made.crew['back judge']],
  );
  const refused = await moveUp(id, gameId).expect(409);
  expect(refused.body.detail).toContain('You declared a conflict with');
  expect(await made.offerOf(id, 'alternate 1')).toMatchObject({ standing: 'waiting' });
  expect((await made.chosenIn(id)).some(({ slot }) => slot === 'alternate 1')).toBe(true);
});

test('what cannot be is refused with a sentence, and nothing is changed', async () => {
  const { id, gameId } = await declined('Not');
  const before = await made.offersOf(id);
  const wordless = await moveUp(id, gameId, { reason: ' ' }).expect(400);
  expect(wordless.body.errors).toEqual([
    { field: 'body.reason', message: 'say why this alternate takes the place' },
  ]);
  const past = await moveUp(id, gameId, { answerBy: '2020-01-01' }).expect(400);
  expect(past.body.errors[0].field).toBe('answerBy');
  const referee = await moveUp(id, gameId, { alternate: 'referee' }).expect(400);
  expect(referee.body.errors[0].message).toContain('must be an alternate’s place');
  const nobody = await moveUp(id, gameId, { alternate: 'alternate 2' }).expect(409);
  expect(nobody.body.detail).toBe('Nobody is alternate 2 of Not final any more: look at it again.');
  const taken = await moveUp(id, gameId, { slot: 'referee' }).expect(409);
  expect(taken.body.detail).toContain('is chosen as referee of Not final');
  const nowhere = await moveUp(id, gameId, { slot: 'back judge' }).expect(404);
  expect(nowhere.body.detail).toBeDefined();
  expect(await made.offersOf(id)).toEqual(before);
  // Two at once: one moves, the other is told.
  const both = await Promise.all([moveUp(id, gameId), moveUp(id, gameId)]);
  expect(both.map(({ status }) => status).sort()).toEqual([201, 409]);
});

test('on the page: what was typed stays where it is refused', async () => {
  const { id, gameId } = await declined('Typed');
  const sent = { place: `${gameId} umpire`, alternate: 'alternate 1', reason: 'Named <for> this.' };
  const { text } = await made.coordinator
    .post(`/postseason/${id}/offers/move-up`)
    .type('form')
    .send({ ...sent, answerBy: '2020-01-01' })
    .expect(400);
  expect(text).toContain('value="Named &lt;for&gt; this."');
  expect(wordsOf(text)).toContain('is past');
  expect(text).toMatch(/<details open><summary>Move/);
  await made.coordinator
    .post(`/postseason/${id}/offers/move-up`)
    .type('form')
    .send({ ...sent, answerBy: '' })
    .expect(303);
  expect(await made.offerOf(id, 'umpire')).toMatchObject({ officialId: made.crew['back judge'] });
});
