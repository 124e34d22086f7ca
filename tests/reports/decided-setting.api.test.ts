import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { newestEntries } from '../../server/accounts/audit/audit-reading.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { countedMaterial } from '../../server/reports/filing/counted-material.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport, putMarks } from '../../server/reports/filing/open-report.ts';
import { acceptReport, releaseReport } from '../../server/reports/filing/review-steps.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { everybodysDuty, type OneGame, oneGame, plainPlay } from './one-game.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let reportId: string;
/** Owed when the ball was loose: four plays leave that open, four were, eight were not. */
const fumbles = { ...everybodysDuty, key: 'fumbles', title: 'Watch loose balls', allOf: ['loose-ball'] };

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  const plays = Array.from({ length: 40 }, (_, at) => {
    const { looseBall, ...play } = plainPlay(at + 1);
    if (at < 4) return play;
    return at < 8 ? { ...play, looseBall: 'fumble' as const } : { ...play, looseBall: 'none' as const };
  });
  game = await oneGame(database.pool, plays);
  const { conferenceId, gameId, observerId, rubricVersionId } = game;
  await database.pool.query(
    `INSERT INTO duty (conference_id, rubric_version_id, key, title, category, graded_as, weight, definition)
     VALUES ($1, $2, 'fumbles', 'Watch loose balls', 'loose ball', 'mechanics', 1, $3)`,
    [conferenceId, rubricVersionId, JSON.stringify({ ...fumbles, category: 'loose ball' })],
  );
  const acting = { conferenceId, personId: observerId };
  reportId = await inTransaction(database.pool, async (client) => {
    const id = await openReport(client, acting, { gameId, observerId });
    await confirmCrew(client, acting, gameId);
    await putMarks(client, acting, id, [
      {
        ...{ playId: game.playIds[5]!, personId: game.crew.umpire!, position: 'umpire', dutyKey: 'fumbles' },
        ...{ finding: 'missed', comment: 'Looked away.' },
      },
    ]);
    await fileReport(client, acting, id);
    const coordinating = { conferenceId, personId: game.coordinatorId };
    await acceptReport(client, coordinating, id);
    await releaseReport(client, coordinating, id);
    return id;
  });
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

const umpire = async () => {
  const { rows } = await database.pool.query(
    `SELECT n.opportunities, n.not_met, n.set_aside, n.set_aside_not_met, o.standing, r.revision
       FROM opportunity_count n JOIN report r ON r.id = n.report_id JOIN observation o ON o.report_id = r.id
      WHERE n.report_id = $1 AND n.duty_key = 'fumbles' AND n.position = 'umpire'`,
    [reportId],
  );
  return rows[0];
};

test('the share a log must give is set by the coordinator, and what is filed is counted again', async () => {
  // 4 chances, and of 36 like plays 4 were: the four left open hold half a chance, so the log gives about 89 %.
  const counts = { opportunities: 4, not_met: 1, set_aside: 0, set_aside_not_met: 0 };
  expect(await umpire()).toEqual({ ...counts, standing: 'counted', revision: 1 });
  await coordinator.get('/api/decided-share').expect(200, { decidedShare: 80 });
  await coordinator.put('/api/decided-share').send({ decidedShare: 101 }).expect(400);
  await coordinator
    .put('/api/decided-share')
    .send({ decidedShare: 80 })
    .expect(200, { decidedShare: 80, counted: 0, changed: 0 });

  const form = {
    reportDays: '3',
    replyDays: '7',
    minimumGames: '2',
    minimumOpportunities: '50',
    places: '1',
  };
  const address = `/seasons/${game.seasonId}/settings`;
  const wrong = await coordinator
    .post(address)
    .type('form')
    .send({ ...form, decidedShare: '-3' });
  expect(wrong.status).toBe(400);
  expect(wrong.text).toMatch(/id="wrong-decidedShare">Must be at least 0/);
  const done = await coordinator
    .post(address)
    .type('form')
    .send({ ...form, decidedShare: '95' })
    .expect(303);
  const told = await coordinator.get(done.headers.location!).expect(200);
  expect(told.text).toContain('1 report counted again, 1 of them changed.');
  expect(told.text).toContain('value="95"');
  expect(await umpire()).toEqual({
    ...{ opportunities: 0, not_met: 0, set_aside: 4, set_aside_not_met: 1 },
    ...{ standing: 'thin log', revision: 2 },
  });
  const [entry] = await newestEntries(database.pool, game.conferenceId, { most: 1 });
  expect(entry).toMatchObject({
    action: 'least share of chances changed',
    before: { decidedShare: 80 },
    after: { decidedShare: 95, reportsCounted: 1, reportsChanged: 1 },
  });

  await coordinator
    .put('/api/decided-share')
    .send({ decidedShare: 0 })
    .expect(200, { decidedShare: 0, counted: 1, changed: 1 });
  expect(await umpire()).toEqual({ ...counts, standing: 'counted', revision: 3 });
});

test('reports counted by an earlier version of the program are told, and counted again when settings are kept', async () => {
  const { conferenceId, seasonId } = game;
  const address = `/seasons/${seasonId}/settings`;
  const told = 'counted by an earlier version of the program';
  expect((await coordinator.get(address)).text).not.toContain(told);
  await database.pool.query('UPDATE report SET counts_method = NULL WHERE conference_id = $1', [
    conferenceId,
  ]);
  await database.pool.query(
    `UPDATE opportunity_count SET likely = 0, undecided = 0 WHERE conference_id = $1`,
    [conferenceId],
  );
  expect((await coordinator.get(address)).text).toContain(told);
  // Nothing is said of shares that nobody found.
  const { body } = await coordinator.get(`/api/reports/${reportId}`).expect(200);
  expect(body.officials[0].decidedShare).toBeNull();
  await coordinator
    .put('/api/decided-share')
    .send({ decidedShare: 0 })
    .expect(200, { decidedShare: 0, counted: 1, changed: 0 });
  expect((await coordinator.get(address)).text).not.toContain(told);
  const after = await coordinator.get(`/api/reports/${reportId}`).expect(200);
  expect(after.body.officials[0].decidedShare).toBeGreaterThan(0);
});

test('a closed season stays as it was counted, whatever is set later, and is told of once it is reopened', async () => {
  const { conferenceId, seasonId, gameId, rubricVersionId } = game;
  const { pool } = database;
  const address = `/seasons/${seasonId}/settings`;
  const { rows: before } = await pool.query('SELECT * FROM game_count ORDER BY person_id, duty_key');
  const become = (state: string) =>
    pool.query('UPDATE season SET state = $2, closed_at = $3 WHERE id = $1', [
      ...[seasonId, state],
      state === 'closed' ? new Date() : null,
    ]);
  const { rows } = await pool.query<{ state: string }>('SELECT state FROM season WHERE id = $1', [seasonId]);
  await become('closed');
  await coordinator
    .put('/api/decided-share')
    .send({ decidedShare: 95 })
    .expect(200, { decidedShare: 95, counted: 0, changed: 0 });
  expect((await pool.query('SELECT * FROM game_count ORDER BY person_id, duty_key')).rows).toEqual(before);
  await expect(pool.query('UPDATE game_count SET model = model')).rejects.toThrow(/is closed/);
  // What is counted from its marks on a page agrees with what it keeps.
  const report = { id: reportId, gameId };
  expect(await countedMaterial(pool, conferenceId, report, rubricVersionId)).toMatchObject({
    ...{ decidedShareLeast: 0.95, countedShareLeast: 0 },
  });

  await become(rows[0]!.state);
  expect((await coordinator.get(address)).text).toContain('1 report was counted by an earlier version');
  await coordinator
    .put('/api/decided-share')
    .send({ decidedShare: 95 })
    .expect(200, { decidedShare: 95, counted: 1, changed: 1 });
  expect((await coordinator.get(address)).text).not.toContain('counted by an earlier version');
  expect(await umpire()).toMatchObject({ opportunities: 0, set_aside: 4, standing: 'thin log' });
});
