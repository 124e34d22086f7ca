// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { countedMaterial } from '../../server/reports/filing/counted-material.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { readRubric } from '../../server/rubric/read-rubric.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, 6);
  coordinator = (await personSignedIn(app, game.conferenceId, ['coordinator'])).agent;
});

const rubric = (number?: number) => readRubric(database.pool, game.conferenceId, game.seasonId, number);
const address = () => `/api/seasons/${game.seasonId}/rubric`;
const page = () => `/seasons/${game.seasonId}/rubric/playing-rules`;

async function asItIs() {
  const { body } = await coordinator.get(address()).expect(200);
  const { code, practices, seen } = body;
  return { code, practices, seen };
}

async function fileAReport(): Promise<string> {
  return inTransaction(database.pool, async (client) => {
    const acting = { conferenceId: game.conferenceId, personId: game.observerId };
    await confirmCrew(client, acting, game.gameId);
    const id = await openReport(client, acting, { gameId: game.gameId, observerId: game.observerId });
    await fileReport(client, acting, id);
    return id;
  });
}

describe('how the conference plays', () => {
  test('is kept with the rubric, and a filed report keeps the version it was counted under', async () => {
    const reportId = await fileAReport();
    const now = await asItIs();
    const practices = { ...now.practices, spotInTheMiddle: 'line judge' };
    const { body } = await coordinator
      .put(`${address()}/playing-rules`)
      .send({ ...now, practices, note: 'as our manual has it' })
      .expect(200);
    expect(body).toEqual({ number: 2, newVersion: true });
    // Whoever was graded under the first version reads on the play's page what that version asked.
    const play = `/games/${game.gameId}/plays/${game.playIds[0]}/duties`;
    const { text } = await coordinator.get(play).expect(200);
    expect(text).toContain(
      '/rubric/versions/1">version 1 of the rubric</a>, under which this game was counted',
    );
    expect((await rubric(1))!.practices.spotInTheMiddle).toBe('head linesman');
    expect((await rubric())!.practices.spotInTheMiddle).toBe('line judge');
    const { rows } = await database.pool.query('SELECT rubric_version_id FROM report WHERE id = $1', [
      reportId,
    ]);
    expect(rows[0].rubric_version_id).toBe((await rubric(1))!.id);
  });

  test('decides what is counted from then on, also in a version edited in place', async () => {
    const ofReport = { id: '00000000-0000-0000-0000-000000000000', gameId: game.gameId };
    const counted = async () =>
      countedMaterial(database.pool, game.conferenceId, ofReport, (await rubric())!.id);
    expect((await counted()).rubric.practices.motion).toBe('the wing it nears');
    const now = await asItIs();
    await coordinator
      .put(`${address()}/playing-rules`)
      .send({
        ...now,
        practices: { ...now.practices, motion: 'the wing it leaves' },
      })
      .expect(200);
    expect((await counted()).rubric.practices.motion).toBe('the wing it leaves');
  });

  test('with the other rules book, keeps the weights and the words that the conference changed', async () => {
    const key = 'dead-ball-signal';
    const duty = (await rubric())!.duties.find((one) => one.key === key)!;
    const { body } = await coordinator.get(address()).expect(200);
    const { fingerprint } = body.duties.find((one: { key: string }) => one.key === key);
    await coordinator
      .put(`${address()}/duties/${key}`)
      .send({ duty: { ...duty, title: 'Arm up', weight: 9 }, seen: fingerprint })
      .expect(200);
    await coordinator
      .put(`${address()}/playing-rules`)
      .send({ ...(await asItIs()), code: 'high school' })
      .expect(200);
    const after = (await rubric())!;
    expect(after.code).toBe('high school');
    expect(after.duties.find((one) => one.key === key)).toMatchObject({ title: 'Arm up', weight: 9 });
  });

  test('is refused when somebody changed it in the meantime, and on the page keeps what was chosen', async () => {
    const stale = await asItIs();
    await coordinator
      .put(`${address()}/playing-rules`)
      .send({
        ...stale,
        practices: { ...stale.practices, motion: 'the wing it leaves' },
      })
      .expect(200);
    await coordinator.put(`${address()}/playing-rules`).send(stale).expect(409);
    const sent = { ...stale.practices, code: 'high school', seen: stale.seen };
    const { text } = await coordinator.post(page()).type('form').send(sent).expect(409);
    expect(text).toContain('changed in the meantime');
    expect(text).toMatch(/value="high school" checked/);
  });

  test('saved as it is, makes no version and no entry in the trail', async () => {
    await fileAReport();
    const now = await asItIs();
    const { body } = await coordinator.put(`${address()}/playing-rules`).send(now).expect(400);
    expect(body.errors).toEqual([{ field: 'practices', message: 'are these already; change one of them' }]);
    const sent = { ...now.practices, code: now.code, seen: now.seen };
    const { text } = await coordinator.post(page()).type('form').send(sent).expect(409);
    expect(text).toContain('These are the answers already; change one of them.');
    expect((await rubric())!.number).toBe(1);
  });

  test('of a closed season offers no saving', async () => {
    expect((await coordinator.get(page()).expect(200)).text).toContain('>Save</button>');
    await database.pool.query(
      `UPDATE season SET state = 'closed', closed_at = now() WHERE conference_id = $1 AND id = $2`,
      [game.conferenceId, game.seasonId],
    );
    expect((await coordinator.get(page()).expect(200)).text).not.toContain('>Save</button>');
  });

  test('on its page says beside the question what is missing, and saves what is right', async () => {
    const { practices, seen } = await asItIs();
    const { text } = await coordinator
      .post(page())
      .type('form')
      .send({ ...practices, motion: 'whoever', code: 'college', seen })
      .expect(422);
    expect(text).toContain('Choose one.');
    await coordinator
      .post(page())
      .type('form')
      .send({ ...practices, backJudgeOnFreeKicks: 'deep', code: 'high school', seen })
      .expect(303);
    expect(await rubric()).toMatchObject({
      code: 'high school',
      practices: { backJudgeOnFreeKicks: 'deep' },
    });
    await coordinator.get(page()).expect(200);
  });
});
