import type { FastifyInstance } from 'fastify';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import type { Change } from '../../server/reports/entry/changes.ts';
import { saveChanges } from '../../server/reports/entry/save-mark.ts';
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

const markOf = (play: number, more: object = {}) => ({
  kind: 'put mark',
  id: uuidv7(),
  basedOn: null,
  markId: uuidv7(),
  playId: game.playIds[play],
  position: 'line judge',
  dutyKey: everybodysDuty.key,
  finding: 'missed',
  comment: 'Turned away.',
  ...more,
});
const commentsKept = async () =>
  (
    await database.pool.query<{ comment: string }>(
      'SELECT comment FROM observation WHERE conference_id = $1 ORDER BY comment',
      [game.conferenceId],
    )
  ).rows.map((row) => row.comment);

test('a change with something wrong is refused by itself, with the field and the reason; the others are applied', async () => {
  const observer = await as(game.observerId);
  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`)).json();
  const bad = [
    markOf(1, { finding: 'awful' }),
    markOf(2, { comment: 'NUL \u0000 inside' }),
    markOf(3, { comment: 'half a pair \ud83d' }),
    markOf(4, { comment: 'x'.repeat(4001) }),
    markOf(5, { playId: 'not an id' }),
    markOf(6, { unknownField: 1 }),
    { kind: 'dance', id: uuidv7() },
    'no change at all',
    null,
    { ...markOf(7), id: 'x'.repeat(5000) },
  ];
  const changes = [markOf(0, { comment: 'first' }), ...bad, markOf(8, { comment: 'last 🏈' })];
  const answer = await observer.post(`/api/reports/${reportId}/changes`, { changes });
  expect(answer.statusCode, answer.body).toBe(200);
  const { results } = answer.json();
  expect(results).toHaveLength(changes.length);
  expect(results[0]).toEqual({ id: (changes[0] as { id: string }).id, outcome: 'applied' });
  expect(results.at(-1).outcome).toBe('applied');
  const refused = results.slice(1, -1);
  for (const result of refused)
    expect(result).toMatchObject({ outcome: 'refused', message: expect.any(String) });
  expect(
    refused.slice(0, 5).map((result: { errors: { field: string }[] }) => result.errors[0]!.field),
  ).toEqual(['finding', 'comment', 'comment', 'comment', 'playId']);
  expect(refused[1].message).toBe('Comment has a character that cannot be kept (number 5); delete it there.');
  expect(refused[1].id).toBe((bad[1] as { id: string }).id);
  expect(await commentsKept()).toEqual(['first', 'last 🏈']);
});

test('what only the database finds wrong is refused by itself too', async () => {
  const observer = await as(game.observerId);
  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`)).json();
  // Past the schema, as any fault would be that the schema does not know.
  const unseen = [
    markOf(0, { comment: 'before' }),
    markOf(1, { comment: 'NUL \u0000' }),
    markOf(2, { comment: 'after' }),
  ] as unknown as Change[];
  const acting = { conferenceId: game.conferenceId, personId: game.observerId };
  const results = await saveChanges(database.pool, acting, reportId, unseen);
  expect(results.map((result) => result.outcome)).toEqual(['applied', 'refused', 'applied']);
  expect(await commentsKept()).toEqual(['after', 'before']);
  const alone = await saveChanges(database.pool, acting, reportId, [
    { ...unseen[1]!, id: uuidv7() } as Change,
  ]);
  expect(alone).toEqual([
    { id: expect.any(String), outcome: 'refused', message: 'The server cannot keep it as it stands.' },
  ]);
});
