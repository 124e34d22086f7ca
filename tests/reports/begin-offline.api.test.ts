import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type OneGame, oneGame } from './one-game.ts';

// What a device needs to begin a report without a network, and how the server takes it later.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let agent: SignedInAgent;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, 4);
  agent = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.observerId });
});

const reports = async () =>
  (
    await database.pool.query<{ id: string; observer_id: string }>(
      'SELECT id, observer_id FROM report WHERE conference_id = $1 ORDER BY created_at',
      [game.conferenceId],
    )
  ).rows;
const toBegin = (reportId: string) => agent.get(`/api/games/${game.gameId}/entry?reportId=${reportId}`);
const open = (reportId: string) => agent.post(`/api/games/${game.gameId}/reports`).send({ reportId });

describe('a report to be begun on a device', () => {
  test.each(['in person', 'film'])('is what it is once opened, watched %s', async (how) => {
    await database.pool.query('UPDATE observer_assignment SET how = $2 WHERE conference_id = $1', [
      game.conferenceId,
      how,
    ]);
    const reportId = randomUUID();
    const begun = await toBegin(reportId).expect(200);
    expect(await reports()).toEqual([]);
    expect(begun.body.report.watched === null).toBe(how === 'in person');
    expect(begun.body.plays).toHaveLength(4);
    await toBegin(reportId).set('if-none-match', begun.headers.etag!).expect(304);

    const opened = await open(reportId).expect(200);
    expect(opened.body).toEqual({ reportId });
    const now = await agent.get(`/api/reports/${reportId}/entry`).expect(200);
    expect(now.body).toEqual(begun.body);
    expect(now.headers.etag).toBe(begun.headers.etag);
    // Sent twice, as a device does that has not heard the answer.
    await open(reportId).expect(200);
    expect(await reports()).toHaveLength(1);
  });

  test('that is there comes under its own id', async () => {
    const acting = { conferenceId: game.conferenceId, personId: game.observerId };
    const there = await openReport(database.pool, acting, game);
    expect((await toBegin(randomUUID()).expect(200)).body.report.id).toBe(there);
    expect((await open(randomUUID()).expect(200)).body).toEqual({ reportId: there });
  });

  test('does not take the id of another’s', async () => {
    const acting = { conferenceId: game.conferenceId, personId: game.secondObserverId };
    const theirs = await openReport(database.pool, acting, { ...game, observerId: game.secondObserverId });
    await open(theirs).expect(404);
    expect(await reports()).toEqual([{ id: theirs, observer_id: game.secondObserverId }]);
  });

  test('is not shown to an observer without the game, nor under what is no id', async () => {
    await database.pool.query(
      'DELETE FROM observer_assignment WHERE conference_id = $1 AND observer_id = $2',
      [game.conferenceId, game.observerId],
    );
    await toBegin(randomUUID()).expect(404);
    const other = await inSessionOf(app, {
      conferenceId: game.conferenceId,
      personId: game.secondObserverId,
    });
    await other.get(`/api/games/${game.gameId}/entry?reportId=seven`).expect(400);
  });
});
