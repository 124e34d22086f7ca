import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { applyChanges } from '../../server/reports/entry/apply-changes.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { recountReport } from '../../server/reports/filing/kept-counts.ts';
import { openReport, putMarks } from '../../server/reports/filing/open-report.ts';
import { acceptReport, releaseReport, returnReport } from '../../server/reports/filing/review-steps.ts';
import { ReportIncomplete } from '../../server/reports/refusals.ts';
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

test('a mark makes no chance of its own: it is kept, and says that it does not count', async () => {
  const game = await oneGame(database.pool);
  const reportId = await open(game);
  const acting = { conferenceId: game.conferenceId, personId: game.observerId };
  await inTransaction(database.pool, async (client) => {
    await confirmCrew(client, acting, game.gameId);
    await putMarks(client, acting, reportId, [
      { ...spotMark(game, 4), dutyKey: freeKickDuty.key },
      spotMark(game, 5),
    ]);
    await fileReport(client, acting, reportId);
  });
  const kept = await database.pool.query(
    `SELECT o.duty_key, o.standing, coalesce(n.not_met, 0) AS not_met
       FROM observation o LEFT JOIN opportunity_count n
         ON n.conference_id = o.conference_id AND n.report_id = o.report_id AND n.person_id = o.person_id AND n.duty_key = o.duty_key
      WHERE o.conference_id = $1 ORDER BY 1`,
    [game.conferenceId],
  );
  expect(kept.rows).toEqual([
    { duty_key: everybodysDuty.key, standing: 'counted', not_met: 1 },
    { duty_key: freeKickDuty.key, standing: 'not owed', not_met: 0 },
  ]);
});

test('in the stadium an observer says whom they watched before filing; nobody else is graded', async () => {
  const game = await oneGame(database.pool);
  await database.pool.query(`UPDATE observer_assignment SET how = 'in person' WHERE conference_id = $1`, [
    game.conferenceId,
  ]);
  const reportId = await open(game);
  const acting = { conferenceId: game.conferenceId, personId: game.observerId };
  const run = <T>(work: Parameters<typeof inTransaction<T>>[1]) => inTransaction(database.pool, work);
  await run(async (client) => {
    await confirmCrew(client, acting, game.gameId);
    await putMarks(client, acting, reportId, [spotMark(game, 4), spotMark(game, 40)]);
  });
  const refused = await run((client) => fileReport(client, acting, reportId)).catch((error) => error);
  expect(refused).toBeInstanceOf(ReportIncomplete);
  expect(refused.missing.map((item: { what: string }) => item.what)).toEqual(['watched']);

  // The wings all game, and nobody in the first twenty plays.
  await run((client) =>
    applyChanges(client, acting, reportId, [
      {
        kind: 'watched',
        id: randomUUID(),
        was: null,
        watched: {
          positions: ['head linesman', 'line judge'],
          stretches: [{ from: null, to: game.playIds[19]!, positions: [] }],
        },
      },
    ]),
  );
  await run((client) => fileReport(client, acting, reportId));
  const { rows } = await database.pool.query(
    `SELECT position, opportunities, unwatched, not_met FROM opportunity_count
      WHERE conference_id = $1 AND duty_key = $2 AND position IN ('line judge', 'referee') ORDER BY 1`,
    [game.conferenceId, everybodysDuty.key],
  );
  expect(rows).toEqual([
    { position: 'line judge', opportunities: 145, unwatched: 20, not_met: 1 },
    { position: 'referee', opportunities: 0, unwatched: 165, not_met: 0 },
  ]);
  const standings = await database.pool.query(
    'SELECT standing FROM observation o JOIN play p ON p.id = o.play_id WHERE o.conference_id = $1 ORDER BY p.number',
    [game.conferenceId],
  );
  expect(standings.rows).toEqual([{ standing: 'not watched' }, { standing: 'counted' }]);
});
