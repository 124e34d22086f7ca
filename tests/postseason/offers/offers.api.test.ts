// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type OneGame, oneGame } from '../../reports/one-game.ts';
import { type DecidedSelection, decidedSelection } from '../../support/decided-selection.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';

// Offers, answers, deadlines and embargo, each told as it is, on a real database.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let second: SignedInAgent;
let umpire: SignedInAgent;
let referee: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 1);
  const { conferenceId, crew } = game;
  const as = (personId: string) => inSessionOf(app, { conferenceId, personId });
  coordinator = await as(game.coordinatorId);
  second = (await personSignedIn(app, conferenceId, ['coordinator'])).agent;
  umpire = await as(crew.umpire!);
  referee = await as(crew.referee!);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const days = { answerBy: '2199-11-28', embargoUntil: '2199-11-30T18:00' };
// Each selection on a day of its own: nobody is at two games on one.
let next = 1;
async function decided(title: string, more: object = {}): Promise<DecidedSelection> {
  const { crew } = game;
  return decidedSelection(database.pool, coordinator, game.seasonId, {
    ...{ title, playedOn: `2199-12-${String(next++).padStart(2, '0')}` },
    choices: {
      referee: crew.referee!,
      umpire: crew.umpire!,
      'line judge': crew['line judge']!,
      'alternate 1': crew['back judge']!,
    },
    ...more,
  });
}
const offersAt = (id: string) => `/api/selections/${id}/offers`;
const offer = (id: string, body: object = days, agent = coordinator) => agent.post(offersAt(id)).send(body);
interface OfferRow {
  id: string;
  slot: string;
  officialId: string;
  standing: string;
  reason: string;
  answerBy: string;
}
const readOffers = async (id: string): Promise<OfferRow[]> =>
  (await coordinator.get(offersAt(id)).expect(200)).body;
const slot = async (id: string, name: string) =>
  (await readOffers(id)).filter((one) => one.slot === name).at(-1)!;
const answer = (agent: SignedInAgent, offerId: string, body: object) =>
  agent.post(`/api/my/postseason-offers/${offerId}/answer`).send(body);
const selectionNow = async (id: string) => (await coordinator.get(`/api/selections/${id}`).expect(200)).body;
const toldOf = async (personId: string, kind: string): Promise<Record<string, unknown>[]> => {
  const { rows } = await database.pool.query(
    'SELECT facts FROM message WHERE person_id = $1 AND kind = $2 ORDER BY happened_at, id',
    [personId, kind],
  );
  return rows.map(({ facts }) => facts);
};
const choose = (id: string, gameId: string, name: string, officialId: string, agent = coordinator) =>
  agent
    .put(`/api/selections/${id}/games/${gameId}/places/${encodeURIComponent(name)}`)
    .send({ officialId, position: name.startsWith('alternate') ? 'umpire' : name, reason: 'Next in line.' });

test('days that are missing or past are named, and nothing is offered', async () => {
  const { id } = await decided('Days');
  const none = await offer(id, {}).expect(400);
  expect(none.body.errors).toEqual([
    { field: 'answerBy', message: 'say the last day to answer' },
    { field: 'embargoUntil', message: 'say until when it is to be kept to themselves' },
  ]);
  const past = await offer(id, { answerBy: '2020-01-01', embargoUntil: '2020-01-02T10:00' }).expect(400);
  expect(past.body.errors.map(({ field }: { field: string }) => field)).toEqual(['answerBy', 'embargoUntil']);
  expect(await readOffers(id)).toEqual([]);
  expect((await selectionNow(id)).state).toBe('opened');
});

test('nothing is offered before it is decided, or without its reason', async () => {
  const { id, gameId } = await decided('Too early');
  await database.pool.query(`UPDATE selection SET state = 'sealed voting' WHERE id = $1`, [id]);
  const early = await offer(id).expect(409);
  expect(early.body.detail).toContain('is not decided yet');
  await database.pool.query(`UPDATE selection SET state = 'opened' WHERE id = $1`, [id]);
  await coordinator
    .put(`/api/selections/${id}/games/${gameId}/places/umpire`)
    .send({ officialId: game.crew.umpire, position: 'umpire', reason: '' })
    .expect(200);
  const unreasoned = await offer(id).expect(409);
  expect(unreasoned.body.detail).toContain('umpire, Too early final');
  expect(await readOffers(id)).toEqual([]);
});

test('all chosen are offered once, told with their days, and read their own offer only', async () => {
  const { id, gameId } = await decided('All');
  const before = (await toldOf(game.crew.umpire!, 'postseason offer')).length;
  const one = await offer(id, { ...days, place: { gameId, slot: 'umpire' } }).expect(201);
  expect(one.body).toHaveLength(1);
  const { body } = await offer(id, {}).expect(201);
  expect(body.map(({ slot: name }: OfferRow) => name).sort()).toEqual([
    ...['alternate 1', 'line judge', 'referee', 'umpire'],
  ]);
  const now = await selectionNow(id);
  expect(now).toMatchObject({ state: 'offered', ...days });
  const told = await toldOf(game.crew.umpire!, 'postseason offer');
  expect(told).toHaveLength(before + 1);
  expect(told.at(-1)).toMatchObject({
    ...{ what: 'new', game: 'All final', place: 'umpire', answerBy: days.answerBy, where: 'Rivermouth' },
    teams: 'a team not known yet at Winner of the west',
  });
  const twice = await offer(id, {}).expect(409);
  expect(twice.body.detail).toBe('Every chosen place was offered already: nothing was offered twice.');
  const again = await offer(id, { place: { gameId, slot: 'umpire' } }).expect(409);
  expect(again.body.detail).toContain('umpire of All final was offered to');
  const nobody = await offer(id, { place: { gameId, slot: 'head linesman' } }).expect(409);
  expect(nobody.body.detail).toContain('Nobody is chosen as head linesman');

  const mine = await umpire.get('/api/my/postseason-offers').expect(200);
  const own = mine.body.filter(({ game: name }: { game: string }) => name === 'All final');
  expect(own).toHaveLength(1);
  expect(Object.keys(own[0]).sort()).toEqual([
    ...['answerBy', 'answeredAt', 'ask', 'embargoUntil', 'game', 'home', 'id', 'kickoff', 'offeredAt'],
    ...[
      'open',
      'playedOn',
      'position',
      'reason',
      'recordedNote',
      'recorder',
      'seasonId',
      'slot',
      'standing',
      'visitor',
      'where',
    ],
  ]);
  const text = JSON.stringify(mine.body);
  for (const [position, personId] of Object.entries(game.crew))
    if (position !== 'umpire') expect(text).not.toContain(personId);
  // What another was offered is not there for an official, nor is the conference's list.
  const refereesOffer = (await slot(id, 'referee')).id;
  await answer(umpire, refereesOffer, { answer: 'accepted' }).expect(404);
  await umpire.get(offersAt(id)).expect(403);
  expect((await slot(id, 'referee')).standing).toBe('waiting');
});

test('an answer is kept with its word, the first stands, and the same again changes nothing', async () => {
  const { id } = await decided('Answers');
  await offer(id).expect(201);
  const { id: offerId } = await slot(id, 'umpire');
  const none = await answer(umpire, offerId, { answer: 'maybe' }).expect(400);
  expect(none.body.errors[0].message).toContain('choose to accept or to decline');
  await answer(umpire, offerId, { answer: 'accepted', reason: 'Gladly.' }).expect(200);
  const { body } = await answer(umpire, offerId, { answer: 'accepted' }).expect(200);
  expect(body[0]).toMatchObject({ standing: 'accepted', reason: 'Gladly.' });
  const other = await answer(umpire, offerId, { answer: 'declined' }).expect(409);
  expect(other.body.detail).toMatch(
    /^You accepted this offer on .+, and the first answer stands; .+ tell Test /,
  );
  expect((await slot(id, 'umpire')).standing).toBe('accepted');
});

test('two answers sent at once: one stands, the other is told', async () => {
  const { id } = await decided('At once');
  await offer(id).expect(201);
  const { id: offerId } = await slot(id, 'umpire');
  const answers = await Promise.all([
    answer(umpire, offerId, { answer: 'accepted' }),
    answer(umpire, offerId, { answer: 'declined' }),
  ]);
  expect(answers.map(({ status }) => status).sort()).toEqual([200, 409]);
  const stands = answers.find(({ status }) => status === 200)!.body[0].standing;
  expect((await slot(id, 'umpire')).standing).toBe(stands);
  expect(answers.find(({ status }) => status === 409)!.body.detail).toContain(`You ${stands} this offer`);
  const { choices } = await selectionNow(id);
  expect(choices.some((one: { slot: string }) => one.slot === 'umpire')).toBe(stands === 'accepted');
});

test('two coordinators offering at once: each place is offered once', async () => {
  const { id } = await decided('Both');
  const sent = await Promise.all([offer(id), offer(id, days, second)]);
  expect(sent.map(({ status }) => status).sort()).toEqual([201, 409]);
  expect(sent.find(({ status }) => status === 409)!.body.detail).toContain('offered already');
  const offers = await readOffers(id);
  expect(offers).toHaveLength(4);
  expect(new Set(offers.map((one) => one.slot)).size).toBe(4);
});

test('a late answer is refused and names whom to ask; more time opens it again', async () => {
  const { id } = await decided('Late');
  await offer(id).expect(201);
  const { id: offerId } = await slot(id, 'umpire');
  await database.pool.query(`UPDATE selection_offer SET answer_by = '2020-11-28' WHERE id = $1`, [offerId]);
  const late = await answer(umpire, offerId, { answer: 'accepted' }).expect(409);
  expect(late.body.detail).toMatch(
    /^The last day to answer was November 28, 2020; the coordinator decides now: ask Test .+\.$/,
  );
  expect((await slot(id, 'umpire')).standing).toBe('overdue');
  const more = `${offersAt(id)}/${offerId}/answer-by`;
  const past = await coordinator.put(more).send({ answerBy: '2020-12-01' }).expect(400);
  expect(past.body.errors[0].field).toBe('answerBy');
  await coordinator.put(more).send({ answerBy: '2199-12-01' }).expect(200);
  expect((await toldOf(game.crew.umpire!, 'postseason offer')).at(-1)).toMatchObject({
    ...{ what: 'more time', answerBy: '2199-12-01', game: 'Late final' },
  });
  await answer(umpire, offerId, { answer: 'accepted' }).expect(200);
  const answered = await coordinator.put(more).send({ answerBy: '2199-12-20' }).expect(409);
  expect(answered.body.detail).toContain('has accepted already');
});

test('the day to answer ends with it in the conference’s zone', async () => {
  const { id } = await decided('Zones');
  await offer(id).expect(201);
  const { id: offerId } = await slot(id, 'umpire');
  // The same day is over where the day is furthest on (UTC+14), and not where it is furthest back (UTC-11).
  const { rows } = await database.pool.query(
    `SELECT to_char((now() AT TIME ZONE 'Pacific/Kiritimati')::date - 1, 'YYYY-MM-DD') AS day`,
  );
  await database.pool.query('UPDATE selection_offer SET answer_by = $2 WHERE id = $1', [
    offerId,
    rows[0].day,
  ]);
  const zone = (name: string) =>
    database.pool.query('UPDATE conference SET time_zone = $2 WHERE id = $1', [game.conferenceId, name]);
  const { rows: had } = await database.pool.query('SELECT time_zone FROM conference WHERE id = $1', [
    game.conferenceId,
  ]);
  await zone('Pacific/Kiritimati');
  expect((await slot(id, 'umpire')).standing).toBe('overdue');
  await zone('Pacific/Pago_Pago');
  expect((await slot(id, 'umpire')).standing).toBe('waiting');
  await zone(had[0].time_zone);
});

test('declined: the coordinators are told, the place is free, and another is offered it beside the old offer', async () => {
  const { id, gameId } = await decided('Declined');
  await offer(id).expect(201);
  const { id: offerId } = await slot(id, 'umpire');
  await answer(umpire, offerId, { answer: 'declined', reason: 'A wedding.' }).expect(200);
  for (const personId of [game.coordinatorId])
    expect((await toldOf(personId, 'postseason offer declined')).at(-1)).toMatchObject({
      ...{ game: 'Declined final', place: 'umpire', reason: 'A wedding.' },
    });
  const { choices } = await selectionNow(id);
  expect(choices.map((one: { slot: string }) => one.slot).sort()).toEqual([
    ...['alternate 1', 'line judge', 'referee'],
  ]);
  const none = await offer(id).expect(409);
  expect(none.body.detail).toContain('Every chosen place was offered already');
  await choose(id, gameId, 'umpire', game.crew['side judge']!).expect(200);
  await offer(id).expect(201);
  const offers = (await readOffers(id)).filter((one) => one.slot === 'umpire');
  expect(offers.map(({ officialId, standing, reason }) => [officialId, standing, reason])).toEqual([
    [game.crew.umpire, 'declined', 'A wedding.'],
    [game.crew['side judge'], 'waiting', ''],
  ]);
  const trail = await database.pool.query(
    `SELECT count(*)::int AS entries FROM audit_entry WHERE subject_id = $1 AND action = 'selection: offer declined'`,
    [id],
  );
  expect(trail.rows[0].entries).toBe(1);
});

test('withdrawn with a reason: the official is told, also after accepting, and the place is free', async () => {
  const { id, gameId } = await decided('Withdrawn');
  await offer(id).expect(201);
  const { id: offerId } = await slot(id, 'umpire');
  await answer(umpire, offerId, { answer: 'accepted' }).expect(200);
  const at = `${offersAt(id)}/${offerId}/withdrawal`;
  const empty = await coordinator.post(at).send({ reason: '  ' }).expect(400);
  expect(empty.body.errors[0].message).toContain('say why');
  const taken = await choose(id, gameId, 'umpire', game.crew['side judge']!).expect(409);
  expect(taken.body.detail).toContain('has accepted umpire of Withdrawn final: withdraw that offer first');
  await coordinator.delete(`/api/selections/${id}/games/${gameId}/places/umpire`).expect(409);
  await coordinator.post(at).send({ reason: 'Your home team plays in it now.' }).expect(200);
  expect((await toldOf(game.crew.umpire!, 'postseason offer withdrawn')).at(-1)).toMatchObject({
    ...{ game: 'Withdrawn final', reason: 'Your home team plays in it now.' },
  });
  const late = await answer(umpire, offerId, { answer: 'accepted' }).expect(409);
  expect(late.body.detail).toMatch(/^This offer was taken back on .+ ask Test /);
  const twice = await coordinator.post(at).send({ reason: 'Again.' }).expect(409);
  expect(twice.body.detail).toContain('was withdrawn already');
  await choose(id, gameId, 'umpire', game.crew['side judge']!).expect(200);
});

test('nobody is offered, or accepts, a second place on one day', async () => {
  const first = await decided('One day');
  await offer(first.id).expect(201);
  await answer(umpire, (await slot(first.id, 'umpire')).id, { answer: 'accepted' }).expect(200);
  // A choice that was there before: the accepted offer alone is in the way.
  await database.pool.query(`DELETE FROM selection_choice WHERE selection_id = $1`, [first.id]);
  next -= 1;
  const other = await decided('Same day');
  const { body } = await offer(other.id).expect(409);
  expect(body.detail).toMatch(
    /has accepted umpire of One day final on December \d+, 2199, and nobody works two/,
  );
  expect(await readOffers(other.id)).toEqual([]);
});

test('a closed selection takes no answers', async () => {
  const { id } = await decided('Closed');
  await offer(id).expect(201);
  const { id: offerId } = await slot(id, 'referee');
  await database.pool.query(`UPDATE selection SET state = 'closed', closed_at = now() WHERE id = $1`, [id]);
  const refused = await answer(referee, offerId, { answer: 'accepted' }).expect(409);
  expect(refused.body.detail).toContain('settled');
  await offer(id).expect(409);
  const [own] = (await referee.get('/api/my/postseason-offers').expect(200)).body.filter(
    ({ id: one }: { id: string }) => one === offerId,
  );
  expect(own.open).toBe(false);
});
