import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { inSessionOf } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { oneGame, plainPlay } from './one-game.ts';

let database: TestDatabase;
let app: FastifyInstance;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

test('a report that is not whole is filed all the same, and everybody who reads it is told', async () => {
  const plays = Array.from({ length: 60 }, (_, at) => plainPlay(at + 1));
  plays[10] = { ...plays[10]!, offense: 'home', score: 'touchdown', endSpot: 100 };
  const game = await oneGame(database.pool, plays);
  const { conferenceId, gameId } = game;
  const observer = await inSessionOf(app, { conferenceId, personId: game.observerId });
  const coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });

  // The final score is the schedule's: by file, by page and in the API.
  const schedule = (points: string) =>
    coordinator
      .post('/api/imports/schedule')
      .set('content-type', 'text/csv')
      .send(
        `season,week,game,kickoff,home,visitor,venue,home points,visitor points\nSeason,1,week-1-home,2026-09-05 13:00,Home,Visitors,Field,${points}`,
      );
  const half = await schedule('17,').expect(422);
  expect(half.body.outcome.problems[0]).toMatchObject({ column: 'visitor points' });
  await schedule('17,3').expect(200);
  expect((await coordinator.get(`/api/games/${gameId}`).expect(200)).body.finalScore).toEqual({
    home: 17,
    visitor: 3,
  });
  const form = (await coordinator.get(`/games/${gameId}/change`).expect(200)).text;
  expect(form).toMatch(/name="homePoints" type="number" value="17"/);

  const acting = { conferenceId, personId: game.observerId };
  const reportId = await inTransaction(database.pool, async (client) => {
    await confirmCrew(client, acting, gameId);
    return openReport(client, acting, game);
  });
  await database.pool.query(`UPDATE report SET watched = $2 WHERE id = $1`, [
    reportId,
    JSON.stringify({ positions: Object.keys(game.crew), stretches: [] }),
  ]);
  const before = await observer.get(`/api/reports/${reportId}/warnings`).expect(200);
  const kinds = before.body.map(({ what }: { what: string }) => what);
  expect(kinds).toContain('plays');
  expect(kinds).toContain('quarter');
  const points = before.body.find(({ what }: { what: string }) => what === 'score');
  expect(points.says).toBe(
    'The points of the log do not add up: 6 for Home, the final score says 17; 0 for Visitors, the final score says 3.',
  );
  expect((await observer.get(`/api/reports/${reportId}/missing`).expect(200)).body).toEqual([]);

  const filed = await observer.post(`/api/reports/${reportId}/file`).send({}).expect(200);
  expect(filed.body.warnings).toEqual(before.body);

  const page = (await coordinator.get(`/reports/${reportId}`).expect(200)).text;
  expect(page).toContain('How complete is this report');
  expect(page).toContain('No play of the 4th quarter is logged.');
  expect(page).toContain(`href="/games/${gameId}/change">The points of the log do not add up`);
  const gap = before.body.find(({ what }: { what: string }) => what === 'quarter');
  expect(page).toContain(`href="/games/${gameId}/plays/${gap.playId}"`);
  expect((await observer.get(`/reports/${reportId}`).expect(200)).text).toContain(
    `href="/games/${gameId}/plays/${gap.playId}/duties"`,
  );
});

test('few chances for somebody warn, none for anybody keep a report from being filed', async () => {
  const game = await oneGame(database.pool, [{ kind: 'no snap', spot: 40 }]);
  const { conferenceId } = game;
  const observer = await inSessionOf(app, { conferenceId, personId: game.observerId });
  const acting = { conferenceId, personId: game.observerId };
  const reportId = await inTransaction(database.pool, async (client) => {
    await confirmCrew(client, acting, game.gameId);
    return openReport(client, acting, game);
  });
  await database.pool.query(`UPDATE report SET watched = $2 WHERE id = $1`, [
    reportId,
    JSON.stringify({ positions: [], stretches: [] }),
  ]);
  const missing = await observer.get(`/api/reports/${reportId}/missing`).expect(200);
  expect(missing.body).toEqual([
    expect.objectContaining({ what: 'opportunities', message: expect.stringContaining('for anybody') }),
  ]);
  await observer.post(`/api/reports/${reportId}/file`).send({}).expect(422);
});
