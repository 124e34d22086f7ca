import { afterAll, beforeAll, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import {
  acceptReport,
  confirmCrew,
  fileReport,
  openReport,
  putMarks,
  ReportIncomplete,
  recountReport,
  releaseReport,
  returnReport,
} from '../../server/reports/filing/filing.ts';
import { StepRefused } from '../../server/reports/states.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { everybodysDuty, freeKickDuty, type OneGame, oneGame } from './one-game.ts';

let database: TestDatabase;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());

const open = (game: OneGame) =>
  inTransaction(database.pool, (client) =>
    openReport(client, { conferenceId: game.conferenceId, personId: game.observerId }, game),
  );

const spotMark = (
  game: OneGame,
  play: number,
  finding: 'missed' | 'model' = 'missed',
  comment = 'Late.',
) => ({
  playId: game.playIds[play - 1]!,
  personId: game.crew['line judge']!,
  position: 'line judge' as const,
  dutyKey: everybodysDuty.key,
  finding,
  comment,
});

test('opening twice finds the same report', async () => {
  const game = await oneGame(database.pool, 3);
  expect(await open(game)).toBe(await open(game));
});

test('a report is filed with its denominators, returned, filed again, accepted and released', async () => {
  const game = await oneGame(database.pool);
  const reportId = await open(game);
  const acting = { conferenceId: game.conferenceId, personId: game.observerId };
  const run = <T>(work: Parameters<typeof inTransaction<T>>[1]) => inTransaction(database.pool, work);
  await run((client) =>
    putMarks(client, acting, reportId, [spotMark(game, 4), spotMark(game, 6, 'missed', '')]),
  );

  const refused = await run((client) => fileReport(client, acting, reportId)).catch((error) => error);
  expect(refused).toBeInstanceOf(ReportIncomplete);
  expect(refused.missing.map((item: { what: string }) => item.what)).toEqual(['crew', 'comment']);
  expect(refused.missing[1].playId).toBe(game.playIds[5]);

  await run((client) => confirmCrew(client, acting, game.gameId));
  await database.pool.query(
    `UPDATE observation SET comment = 'Turned away.' WHERE conference_id = $1 AND comment = ''`,
    [game.conferenceId],
  );
  await run((client) => fileReport(client, acting, reportId));
  await expect(run((client) => putMarks(client, acting, reportId, []))).rejects.toBeInstanceOf(StepRefused);

  const counts = await database.pool.query(
    `SELECT count(DISTINCT position)::int AS positions, sum(not_met)::int AS not_met, min(opportunities) FILTER (WHERE duty_key = 'everybodys-duty')::int AS least,
            bool_and(person_id = (SELECT person_id FROM working_crew_member w WHERE w.conference_id = n.conference_id
                                   AND w.game_id = $2 AND w.position = n.position)) AS right_person
       FROM opportunity_count n WHERE conference_id = $1 AND report_id = $3`,
    [game.conferenceId, game.gameId, reportId],
  );
  expect(counts.rows[0]).toEqual({ positions: 8, not_met: 2, least: 165, right_person: true });

  await run((client) => returnReport(client, acting, reportId, 'Play 4 was the side judge.'));
  await run((client) => fileReport(client, acting, reportId));
  await run((client) => acceptReport(client, acting, reportId));
  const revision = async () =>
    Number(
      (
        await database.pool.query('SELECT input_revision FROM season WHERE conference_id = $1', [
          game.conferenceId,
        ])
      ).rows[0].input_revision,
    );
  const before = await revision();
  await run((client) => releaseReport(client, acting, reportId));
  expect(await revision()).toBeGreaterThan(before);
  const kept = await database.pool.query(
    `SELECT jsonb_array_length(content->'observations') AS observations, jsonb_array_length(content->'counts') AS counts
       FROM report_revision WHERE conference_id = $1 AND report_id = $2 AND revision = 1`,
    [game.conferenceId, reportId],
  );
  expect(kept.rows[0].observations).toBe(2);
  expect(kept.rows[0].counts).toBeGreaterThanOrEqual(8);
  await expect(run((client) => acceptReport(client, acting, reportId))).rejects.toThrow(/is released; only/);

  const released = await revision();
  await run((client) => recountReport(client, acting, reportId));
  expect(await revision()).toBeGreaterThan(released);
});

test('a mark on a duty the facts did not give creates its opportunity and says so', async () => {
  const game = await oneGame(database.pool);
  const reportId = await open(game);
  const acting = { conferenceId: game.conferenceId, personId: game.observerId };
  await inTransaction(database.pool, async (client) => {
    await confirmCrew(client, acting, game.gameId);
    await putMarks(client, acting, reportId, [{ ...spotMark(game, 4), dutyKey: freeKickDuty.key }]);
    const counted = await fileReport(client, acting, reportId);
    expect(counted.created).toHaveLength(1);
  });
  const kept = await database.pool.query(
    'SELECT adds_opportunity FROM observation WHERE conference_id = $1',
    [game.conferenceId],
  );
  expect(kept.rows).toEqual([{ adds_opportunity: true }]);
});
