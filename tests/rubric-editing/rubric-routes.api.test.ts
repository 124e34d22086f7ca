// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import type { Duty } from '../../server/duties/duty.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport, putMarks } from '../../server/reports/filing/open-report.ts';
import { acceptReport, releaseReport } from '../../server/reports/filing/review-steps.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let observer: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, 40);
  coordinator = (await personSignedIn(app, game.conferenceId, ['coordinator'])).agent;
  observer = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.observerId });
});

const rubricAddress = () => `/api/seasons/${game.seasonId}/rubric`;
type Answer = Duty & { sentence: string; fingerprint: string };

async function dutyAnswer(key: string): Promise<Answer> {
  const { body } = await observer.get(rubricAddress()).expect(200);
  return body.duties.find((duty: Answer) => duty.key === key);
}

/** The duty as it is sent: without what the answer adds. */
async function dutyToSend(key: string): Promise<{ duty: Duty; seen: string }> {
  const { sentence: _sentence, fingerprint: seen, ...duty } = await dutyAnswer(key);
  return { duty, seen };
}

/** Files and releases a report in which the line judge missed the duty on the plays numbered. */
async function releaseAReport(dutyKey: string, plays: number[]): Promise<void> {
  await inTransaction(database.pool, async (client) => {
    const acting = { conferenceId: game.conferenceId, personId: game.observerId };
    await confirmCrew(client, acting, game.gameId);
    const id = await openReport(client, acting, { gameId: game.gameId, observerId: game.observerId });
    const marks = plays.map((number) => ({
      playId: game.playIds[number]!,
      personId: game.crew['line judge']!,
      position: 'line judge' as const,
      dutyKey,
      finding: 'missed' as const,
      comment: 'seen late',
    }));
    await putMarks(client, acting, id, marks);
    await fileReport(client, acting, id);
    await acceptReport(client, acting, id);
    await releaseReport(client, acting, id);
  });
}

describe('the rubric', () => {
  test('is read by everybody of the conference, with a sentence for each duty', async () => {
    const { body } = await observer.get(rubricAddress()).expect(200);
    expect(body).toMatchObject({ number: 1, filedReports: 0 });
    expect((await dutyAnswer('reverse-goal-line')).sentence).toMatch(/^When the ball is snapped between/);
    const { body: known } = await observer.get('/api/situations').expect(200);
    expect(known.map((one: { key: string }) => one.key)).toContain('snap-near-own-goal-line');
  });

  test("is not read across conferences, nor under another season's name", async () => {
    const other = await oneGame(database.pool, 1);
    await observer.get(`/api/seasons/${other.seasonId}/rubric`).expect(404);
    await observer.get(`/api/seasons/${other.seasonId}/rubric/versions`).expect(404);
    await observer.get(`${rubricAddress()}?version=7`).expect(404);
  });

  test('is changed by the coordinator only', async () => {
    const { duty, seen } = await dutyToSend('dead-ball-signal');
    const address = `${rubricAddress()}/duties/dead-ball-signal`;
    await observer.put(address).send({ duty, seen }).expect(403);
    await coordinator
      .put(address)
      .send({ duty: { ...duty, weight: 4 }, seen, note: 'why' })
      .expect(200, {
        number: 1,
        newVersion: false,
      });
    await coordinator.put(address).send({ duty, seen }).expect(409);
    const { fingerprint } = await dutyAnswer('dead-ball-signal');
    await coordinator.delete(address).send({ seen: fingerprint }).expect(200);
    expect(await dutyAnswer('dead-ball-signal')).toBeUndefined();
  });

  test('keeps what a filed report used: the change is a new version', async () => {
    await releaseAReport('dead-ball-signal', []);
    const { duty } = await dutyToSend('dead-ball-signal');
    const added = { ...duty, key: 'another-signal', title: 'Another signal' };
    await coordinator.post(`${rubricAddress()}/duties`).send({ duty: added }).expect(201, {
      number: 2,
      newVersion: true,
    });
    const { body } = await coordinator.get(`${rubricAddress()}/versions`).expect(200);
    expect(body.map((version: { number: number }) => version.number)).toEqual([2, 1]);
    const { body: first } = await coordinator.get(`${rubricAddress()}?version=1`).expect(200);
    expect(first.duties.some((one: Answer) => one.key === 'another-signal')).toBe(false);
    const { body: changes } = await observer.get(`${rubricAddress()}/versions/2/changes`).expect(200);
    expect(changes).toEqual([{ key: 'another-signal', title: 'Another signal', kind: 'added', parts: [] }]);
    const pages = `/seasons/${game.seasonId}/rubric`;
    const { text: changed } = await observer.get(`${pages}/versions/2`).expect(200);
    expect(changed).toContain('Another signal');
    const { text: old } = await coordinator.get(`${pages}?version=1`).expect(200);
    expect(old).toContain('This is version 1');
    expect(old).not.toContain('Add a duty');
    await coordinator.get(`${pages}/duties/another-signal?version=1`).expect(404);
    await observer.get(`${pages}/duties/another-signal?version=2`).expect(200);
  });

  test('refuses a bad duty with problem details that name the field and the fix', async () => {
    const { duty } = await dutyToSend('dead-ball-signal');
    const send = (change: object) =>
      coordinator.post(`${rubricAddress()}/duties`).send({ duty: { ...duty, key: 'new-one', ...change } });
    const never = await send({ allOf: ['run', 'punt'] }).expect(400);
    expect(never.headers['content-type']).toMatch(/^application\/problem\+json/);
    expect(never.body.errors).toEqual([
      {
        field: 'duty.allOf',
        message: 'the duty can never apply: no play can have "it is a run" together with "it is a punt"',
      },
    ]);
    const weight = await send({ weight: 0 }).expect(400);
    expect(weight.body.errors).toEqual([
      { field: 'body.duty.weight', message: 'weight must be a finite number above 0' },
    ]);
    const position = await send({ positions: ['center judge'], crewSizes: [7] }).expect(400);
    expect(position.body.errors[0].message).toMatch(/no crew of 7 has a center judge/);
    const twice = await send({ key: 'dead-ball-signal' }).expect(400);
    expect(twice.body.errors[0].field).toBe('duty.key');
  });
});

describe('the preview of a duty', () => {
  test('counts what it would have created on the season and for whom, and changes nothing', async () => {
    const { duty } = await dutyToSend('everybodys-duty');
    const proposed = { ...duty, positions: ['line judge'], allOf: ['run'] };
    const { body } = await coordinator
      .post(`${rubricAddress()}/preview`)
      .send({ duty: proposed })
      .expect(200);
    // 40 plays: half are runs, half passes; today everybody owes it on each.
    expect(body).toMatchObject({ games: 1, plays: 40, total: { before: 320, after: 20 }, undecidedPlays: 0 });
    const lineJudge = body.byPosition.find((row: { position: string }) => row.position === 'line judge');
    expect(lineJudge).toMatchObject({
      before: 40,
      after: 20,
      officials: [{ personId: game.crew['line judge'], name: 'Test line judge', before: 40, after: 20 }],
    });
    expect(body.example.kind).toBe('run');
    expect((await dutyAnswer('everybodys-duty')).positions).toHaveLength(8);
  });

  test('gives a duty of the whole game once to each position, without an example play', async () => {
    const { duty } = await dutyToSend('everybodys-duty');
    const proposed = { ...duty, per: 'game', allOf: [], anyOf: [] };
    const { body } = await coordinator
      .post(`${rubricAddress()}/preview`)
      .send({ duty: proposed })
      .expect(200);
    expect(body).toMatchObject({ games: 1, total: { before: 320, after: 8 }, undecidedPlays: 0 });
    expect(body.sentence).toMatch(/^Over the whole game, every official is expected/);
    expect(body.example).toBeUndefined();
  });

  test('refuses situations on a duty of the whole game', async () => {
    const { duty } = await dutyToSend('everybodys-duty');
    const { body } = await coordinator
      .post(`${rubricAddress()}/preview`)
      .send({ duty: { ...duty, per: 'game' } })
      .expect(400);
    expect(JSON.stringify(body)).toContain('a duty of the whole game has no situations');
  });

  test('says on how many plays a fact is missing that would decide', async () => {
    const { duty } = await dutyToSend('everybodys-duty');
    const proposed = { ...duty, allOf: ['injury'] };
    const { body } = await coordinator
      .post(`${rubricAddress()}/preview`)
      .send({ duty: proposed })
      .expect(200);
    expect(body).toMatchObject({ total: { after: 0 }, undecidedPlays: 40 });
    expect(body.missingFacts).toEqual([{ fact: 'injury', name: 'injury', plays: 40 }]);
  });

  test('shows what a weight would do to the standings before it is applied', async () => {
    await database.pool.query(
      'UPDATE season SET minimum_games = 1, minimum_opportunities = 1 WHERE conference_id = $1',
      [game.conferenceId],
    );
    await releaseAReport('everybodys-duty', [1, 3, 5]);
    const { duty } = await dutyToSend('everybodys-duty');
    const { body } = await coordinator
      .post(`${rubricAddress()}/preview`)
      .send({ duty: { ...duty, weight: 50 } })
      .expect(200);
    const row = body.standings.find((one: { position: string }) => one.position === 'line judge');
    expect(row.name).toBe('Test line judge');
    // 3 of 40 missed; the heavier the duty, the nearer the grade comes to its rate of 92.5.
    expect(row.would.raw).toBeLessThan(row.now.raw);
    expect(row.would.raw).toBeGreaterThan(92.5);
    const spared = body.standings.find((one: { position: string }) => one.position === 'umpire');
    expect(spared).toMatchObject({ now: { raw: 100 }, would: { raw: 100 } });
  });
});

describe('who owed what on a play', () => {
  test('comes with the facts that decided it, for the observer of the game', async () => {
    const playId = game.playIds[0]!;
    const address = `/api/games/${game.gameId}/plays/${playId}/duties`;
    const { body } = await observer.get(address).expect(200);
    const hold = body.owed.find((one: { dutyKey: string }) => one.dutyKey === 'hold-at-the-line');
    expect(hold).toMatchObject({ position: 'head linesman', title: 'Hold at the line of scrimmage' });
    expect(hold.why[0]).toEqual({
      part: 'all',
      clause: 'it is a pass play',
      truth: true,
      facts: [{ fact: 'kind', name: 'kind of play', value: 'pass' }],
    });
    const motion = body.undecided.find((one: { dutyKey: string }) => one.dutyKey === 'motion-is-the-wings');
    expect(motion.missing).toEqual([{ fact: 'motion', name: 'motion', value: 'not logged' }]);
  });

  test('is not shown to others, and not for a play of another game', async () => {
    const address = `/api/games/${game.gameId}/plays/${game.playIds[0]}/duties`;
    const stranger = await personSignedIn(app, game.conferenceId, ['observer']);
    await stranger.agent.get(address).expect(404);
    const other = await oneGame(database.pool, 1);
    await coordinator.get(`/api/games/${game.gameId}/plays/${other.playIds[0]}/duties`).expect(404);
  });
});
