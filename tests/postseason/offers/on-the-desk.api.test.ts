// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';
import { type WithOffers, withOffers, wordsOf } from './with-offers.ts';

// What a coordinator has to do about offers stands on the first page they see, until it is done.

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

const desk = async () => (await made.coordinator.get('/desk?all=yes').expect(200)).text;
/** What waits of one game on the desk. */
async function entriesOf(game: string): Promise<string[]> {
  const waits = /<ol class="desk-list" aria-label="What waits[\s\S]*?<\/ol>/.exec(await desk())?.[0] ?? '';
  return waits
    .split('<li')
    .filter((entry) => entry.includes(game))
    .map((entry) => wordsOf(`<main>${entry}</main>`));
}

test('an offer not answered in time waits on the desk until there is more time or an answer', async () => {
  const { id, gameId } = await made.offered('Desk late');
  expect(await entriesOf('Desk late final')).toEqual([]);
  const { id: offerId } = await made.offerOf(id, 'umpire');
  await made.late(offerId);
  const [entry, ...more] = await entriesOf('Desk late final');
  expect(more).toEqual([]);
  expect(entry).toContain('postseason offer not answered');
  expect(entry).toContain('Desk late final: umpire');
  expect(entry).toContain(`${await made.nameOf(made.crew.umpire!)} has not answered the offer in time.`);
  const html = await desk();
  expect(html).toContain(`href="/postseason/${id}/offers#game-${gameId}"`);
  // The menu counts it where it is done, and leads there.
  expect(html).toMatch(/href="\/postseason"[^>]*>[^<]*<span class="count">1</);
  const { text } = await made.coordinator.get(`/postseason/${id}/offers`).expect(200);
  expect(text).toContain(`id="game-${gameId}"`);
  await made.coordinator
    .put(`${made.at(id)}/${offerId}/answer-by`)
    .send({ answerBy: '2199-12-01' })
    .expect(200);
  expect(await entriesOf('Desk late final')).toEqual([]);
});

test('a place that was declined waits until another is offered it', async () => {
  const { id, gameId } = await made.offered('Desk free');
  const offer = await made.offerOf(id, 'umpire');
  await made.answer(umpire, offer.id, { answer: 'declined', reason: 'A wedding.' }).expect(200);
  const name = await made.nameOf(made.crew.umpire!);
  const [free] = await entriesOf('Desk free final');
  expect(free).toContain('postseason place free');
  expect(free).toContain(`${name} declined. Nobody is chosen in their place yet.`);
  // Why they declined is for the offers page, not for a list that is glanced at.
  expect(free).not.toContain('wedding');
  await made.choose(id, gameId, 'umpire', made.crew['side judge']!);
  const [chosen] = await entriesOf('Desk free final');
  expect(chosen).toContain(`${await made.nameOf(made.crew['side judge']!)} is chosen and was not offered it`);
  await made.coordinator
    .post(made.at(id))
    .send({ place: { gameId, slot: 'umpire' } })
    .expect(201);
  expect(await entriesOf('Desk free final')).toEqual([]);
});

test('a withdrawn place waits as well; of a closed selection nothing does', async () => {
  const { id } = await made.offered('Desk withdrawn');
  const offer = await made.offerOf(id, 'referee');
  await made.coordinator
    .post(`${made.at(id)}/${offer.id}/withdrawal`)
    .send({ reason: 'Your home team plays in it now.' })
    .expect(200);
  const name = await made.nameOf(made.crew.referee!);
  expect((await entriesOf('Desk withdrawn final'))[0]).toContain(`The offer to ${name} was withdrawn.`);
  await database.pool.query(`UPDATE selection SET state = 'closed', closed_at = now() WHERE id = $1`, [id]);
  expect(await entriesOf('Desk withdrawn final')).toEqual([]);
});

test('the place that an alternate leaves by moving up waits until another is offered it', async () => {
  const { id, gameId } = await made.offered('Desk moved');
  const offer = await made.offerOf(id, 'umpire');
  await made.answer(umpire, offer.id, { answer: 'declined' }).expect(200);
  await made.coordinator
    .post(`${made.at(id)}/move-up`)
    .send({ gameId, slot: 'umpire', alternate: 'alternate 1', reason: 'Named for this.' })
    .expect(201);
  const [left, ...more] = await entriesOf('Desk moved final');
  expect(more).toEqual([]);
  expect(left).toContain('postseason place free');
  expect(left).toContain('Desk moved final: alternate 1');
  const name = await made.nameOf(made.crew['back judge']!);
  expect(left).toContain(
    `${name} moved up from it to another place of the game. Nobody is chosen in their place yet.`,
  );
  expect(left).not.toContain('Named for this');
  await made.coordinator
    .put(`/api/selections/${id}/games/${gameId}/places/alternate%201`)
    .send({ officialId: made.crew['side judge'], position: 'umpire', reason: 'Next in line.' })
    .expect(200);
  await made.coordinator
    .post(made.at(id))
    .send({ place: { gameId, slot: 'alternate 1' } })
    .expect(201);
  expect(await entriesOf('Desk moved final')).toEqual([]);
});
