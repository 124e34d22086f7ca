import type { FastifyInstance } from 'fastify';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { everybodysDuty, type OneGame, oneGame } from './one-game.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
beforeAll(async () => {
  database = await testDatabase();
  app = await buildApp(database, readConfig({ LOG_LEVEL: 'silent' }));
  await app.ready();
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, 20);
});

/** A person's requests, with their session and token. */
async function as(personId: string) {
  const token = await startSession(database.pool, { conferenceId: game.conferenceId, personId });
  const csrf = (await findSession(database.pool, token))!.session.csrfToken;
  const cookies = { crewmark_session: token };
  return {
    get: (url: string, headers: Record<string, string> = {}) => app.inject({ url, cookies, headers }),
    post: (url: string, payload: object = {}) =>
      app.inject({ method: 'POST', url, payload, cookies, headers: { 'x-csrf-token': csrf } }),
  };
}

test('an observer opens a report, reads it, and is told when nothing changed', async () => {
  const observer = await as(game.observerId);
  const opened = await observer.post(`/api/games/${game.gameId}/reports`);
  expect(opened.statusCode, opened.body).toBe(200);
  const { reportId } = opened.json();
  const first = await observer.get(`/api/reports/${reportId}/entry`);
  expect(first.statusCode, first.body).toBe(200);
  expect(first.json().plays).toHaveLength(20);
  const again = await observer.get(`/api/reports/${reportId}/entry`, {
    'if-none-match': String(first.headers.etag),
  });
  expect(again.statusCode).toBe(304);
  const other = await as(game.secondObserverId);
  expect((await other.get(`/api/reports/${reportId}/entry`)).statusCode).toBe(404);
  const coordinator = await as(game.coordinatorId);
  expect((await coordinator.get(`/api/reports/${reportId}/entry`)).statusCode).toBe(403);
});

test('a change with a wrong field is refused with the field and the fix', async () => {
  const observer = await as(game.observerId);
  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`)).json();
  const answer = await observer.post(`/api/reports/${reportId}/changes`, {
    changes: [
      {
        kind: 'put mark',
        id: uuidv7(),
        basedOn: null,
        markId: uuidv7(),
        playId: game.playIds[0],
        position: 'line judge',
        dutyKey: everybodysDuty.key,
        finding: 'awful',
        comment: '',
      },
    ],
  });
  expect(answer.statusCode).toBe(400);
  expect(answer.headers['content-type']).toContain('application/problem+json');
  expect(answer.json().errors[0].field).toBe('body.changes.0.finding');
});
