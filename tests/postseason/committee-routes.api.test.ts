// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type FinalToFill, finalToFill } from './final-to-fill.ts';

// A committee by the API alone: members, conflicts, own ballots, opening and decisions, and what nobody reads before.

let database: TestDatabase;
let app: FastifyInstance;
let there: FinalToFill;
let reader: SignedInAgent;
let late: SignedInAgent;
let best: string;
let second: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  there = await finalToFill(database, app);
  const { conferenceId } = there.game;
  reader = await inSessionOf(app, { conferenceId, personId: there.reader });
  late = await inSessionOf(app, { conferenceId, personId: there.late });
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const at = (then: string) => `/api/selections/${there.final.id}/${then}`;
const seat = (then = '') => `/api/my/committee-seats/${there.final.id}${then}`;
const ballot = () => seat(`/games/${there.final.gameId}/positions/umpire`);
const reasons = () => at(`games/${there.final.gameId}/places/umpire/reasons`);
const umpirePlace = async () => {
  const { body } = await there.coordinator.get(at('decisions')).expect(200);
  return {
    missing: body.missing as string[],
    place: body.places.find(({ slot }: { slot: string }) => slot === 'umpire'),
  };
};
const secret = 'calm with both coaches';

test('members are added and taken off; voting begins once there is one', async () => {
  const { coordinator } = there;
  const alone = await coordinator.post(at('committee/voting')).send({ withCommittee: true }).expect(409);
  expect(alone.body.detail).toContain('Nobody sits on the committee yet');
  const wordless = await coordinator.post(at('committee/voting')).send({ withCommittee: false }).expect(400);
  expect(wordless.body.errors).toEqual([
    { field: 'reason', message: 'say why this selection has no committee' },
  ]);
  const official = await coordinator
    .post(at('committee/members'))
    .send({ personId: there.umpires[0] })
    .expect(400);
  expect(official.body.errors[0].message).toContain('who works no games themselves');
  for (const personId of [there.game.coordinatorId, there.reader, there.late])
    await coordinator.post(at('committee/members')).send({ personId }).expect(200);
  const { body } = await coordinator.get(at('committee')).expect(200);
  expect(body).toMatchObject({ state: 'preparing', openedBecause: '', conflicts: null });
  expect(body.members).toHaveLength(3);
  const early = await reader.put(seat('/conflicts')).send({ conflicts: [] }).expect(409);
  expect(early.body.detail).toContain('voting has not begun');
  await coordinator.post(at('committee/voting')).send({}).expect(200);
});

test('a seat is its member’s alone; conflicts come first, and on whom they are nobody votes', async () => {
  const { personId, agent: outsider } = await personSignedIn(app, there.game.conferenceId, ['observer']);
  expect(personId).toBeDefined();
  await outsider.get(seat()).expect(404);
  await outsider.put(ballot()).send({ votes: [] }).expect(404);
  expect((await outsider.get('/api/my/committee-seats').expect(200)).body).toEqual([]);
  for (const address of [at('committee'), at('decisions')]) await reader.get(address).expect(403);
  await reader.post(at('committee/opening')).send({}).expect(403);

  const { body: seats } = await reader.get('/api/my/committee-seats').expect(200);
  expect(seats).toMatchObject([{ selectionId: there.final.id, state: 'sealed voting', declared: false }]);
  const { body: own } = await reader.get(seat()).expect(200);
  const umpires = own.candidates.filter(({ position }: { position: string }) => position === 'umpire');
  expect(umpires.map(({ officialId }: { officialId: string }) => officialId).sort()).toEqual(
    [...there.umpires].sort(),
  );
  // Nothing is read of anybody with whom one may be in conflict: no tier, and no order by rank.
  for (const one of own.candidates) expect(one).toMatchObject({ tier: null, eligible: null });
  const names = umpires.map(({ name }: { name: string }) => name);
  expect(names).toEqual([...names].sort((a, b) => a.localeCompare(b)));
  const hasty = { votes: [{ officialId: there.umpires[0], vote: 'for' }] };
  const first = await reader.put(ballot()).send(hasty).expect(409);
  expect(first.body.detail).toContain('Declare your conflicts first');
  const tied = there.umpires.at(-1);
  const unsaid = await reader
    .put(seat('/conflicts'))
    .send({ conflicts: [{ officialId: tied, reason: ' ' }] })
    .expect(400);
  expect(unsaid.body.errors[0].message).toBe('say what the conflict is');
  const conflict = { officialId: tied, reason: 'my brother-in-law' };
  const twice = await reader
    .put(seat('/conflicts'))
    .send({ conflicts: [conflict, conflict] })
    .expect(400);
  expect(twice.body.errors[0].message).toBe('must name each official once');
  const { body: declared } = await reader
    .put(seat('/conflicts'))
    .send({ conflicts: [conflict] })
    .expect(200);
  expect(declared.conflicts).toEqual([conflict]);
  expect(JSON.stringify(declared.candidates)).not.toContain(tied);
  const ranked = declared.candidates.filter(({ position }: { position: string }) => position === 'umpire');
  expect(ranked.every(({ tier }: { tier: number | null }) => tier !== null)).toBe(true);
  [best, second] = ranked.map(({ officialId }: { officialId: string }) => officialId);
  const vote = { votes: [{ officialId: second, vote: 'for', note: secret }] };
  const about = await reader
    .put(ballot())
    .send({ votes: [{ officialId: tied, vote: 'against' }] })
    .expect(409);
  expect(about.body.detail).toContain('You declared a conflict with');
  const doubled = await reader
    .put(ballot())
    .send({ votes: [...vote.votes, ...vote.votes] })
    .expect(400);
  expect(doubled.body.errors[0].message).toBe('must name each official once');
  const { body: kept } = await reader.put(ballot()).send(vote).expect(200);
  expect(kept.ballots).toEqual([{ gameId: there.final.gameId, position: 'umpire', ...vote.votes[0] }]);
});

test('nobody reads a ballot before all are opened, and a begun one is not lost by mistake', async () => {
  const { coordinator } = there;
  await coordinator.put(seat('/conflicts')).send({ conflicts: [] }).expect(200);
  await coordinator
    .put(ballot())
    .send({ votes: [{ officialId: second, vote: 'for' }] })
    .expect(200);
  await coordinator.post(seat('/seal')).expect(200);
  await late.put(seat('/conflicts')).send({ conflicts: [] }).expect(200);
  await late
    .put(ballot())
    .send({ votes: [{ officialId: best, note: 'never sealed' }] })
    .expect(200);
  await reader.post(seat('/seal')).expect(200);
  const again = await reader
    .put(ballot())
    .send({ votes: [{ officialId: best, vote: 'for' }] })
    .expect(409);
  expect(again.body.detail).toContain('You sealed your ballot');
  for (const address of [at('committee'), at('decisions'), seat()]) {
    const { text } = await coordinator.get(address).expect(200);
    expect([address, text.includes(secret), text.includes('brother-in-law')]).toEqual([
      address,
      false,
      false,
    ]);
  }
  const leaving = at(`committee/members/${there.late}`);
  const asked = await coordinator.delete(leaving).expect(409);
  expect(asked.body.detail).toContain('has begun a ballot, and has sealed nothing yet');
  expect((await late.get(seat()).expect(200)).body.ballots).toHaveLength(1);
  await coordinator.delete(`${leaving}?sure=yes`).expect(204);
  await late.get(seat()).expect(404);
  const sealed = await coordinator.delete(at(`committee/members/${there.reader}?sure=yes`)).expect(409);
  expect(sealed.body.detail).toContain('has sealed a ballot');
});

test('opened together, then each decision is recorded on what stood there', async () => {
  const { coordinator } = there;
  const { body } = await coordinator.post(at('committee/opening')).send({}).expect(200);
  expect(body).toMatchObject({ state: 'opened', openedBecause: '' });
  expect(body.conflicts).toMatchObject([{ memberId: there.reader, reason: 'my brother-in-law' }]);
  await coordinator.post(at('committee/opening')).send({}).expect(409);
  await there.choose({ ...there.final, slot: 'umpire' }, second);
  const { missing, place } = await umpirePlace();
  expect(missing).toEqual(['umpire, Final: the choice and one passed over']);
  expect(place.chosen).toMatchObject({
    ...{ officialId: second, position: 'umpire', reason: '' },
    votes: { for: 2, against: 0, notes: [{ memberId: there.reader, note: secret }] },
  });
  expect(place.passedOver).toMatchObject([{ officialId: best, place: 1, reason: null, votes: null }]);
  const typed = {
    ...{ seen: place.seen, reason: 'steady in close games' },
    over: [{ officialId: best, reason: 'worked the final last year' }],
  };
  const wordless = await coordinator
    .put(reasons())
    .send({ ...typed, reason: '' })
    .expect(400);
  expect(wordless.body.errors[0].message).toBe('say why this official was chosen');
  await coordinator.put(reasons()).send(typed).expect(200);
  const now = await umpirePlace();
  expect(now.missing).toEqual([]);
  expect(now.place.chosen.reason).toBe('steady in close games');
  expect(now.place.passedOver).toMatchObject([
    { reason: 'worked the final last year', recordedBy: there.game.coordinatorId },
  ]);
  // On what was read before, the second is told and keeps nothing.
  const stale = await there.second
    .put(reasons())
    .send({ ...typed, reason: 'another' })
    .expect(409);
  expect(stale.body.detail).toContain('Somebody else decided on this place meanwhile');
  expect((await umpirePlace()).place.chosen.reason).toBe('steady in close games');
});
