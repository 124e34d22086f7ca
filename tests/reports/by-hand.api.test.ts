// @module-tag long
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { newestEntries } from '../../server/accounts/audit/audit-reading.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { type Position, positions } from '../../server/football/positions.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { marksOf, playLog } from '../../server/reports/filing/counted-material.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport, putMarks } from '../../server/reports/filing/open-report.ts';
import { acceptReport, releaseReport } from '../../server/reports/filing/review-steps.ts';
import { ReportIncomplete } from '../../server/reports/refusals.ts';
import { correctWorkingCrew } from '../../server/reports/review/correct-crew.ts';
import { addLoggedPlay } from '../../server/reports/review/corrections.ts';
import { reportRevisions } from '../../server/reports/review/report-history.ts';
import { personSignedIn } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { everybodysDuty, type OneGame, oneGame, plainPlay } from './one-game.ts';

// What the coordinator enters of a game by hand.

let database: TestDatabase;
let game: OneGame;
let reportId: string;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());
beforeEach(async () => {
  game = await oneGame(database.pool, 30);
  reportId = await work((client) =>
    openReport(client, observing(), { gameId: game.gameId, observerId: game.observerId }),
  );
});

const work = <Result>(act: Parameters<typeof inTransaction<Result>>[1]) => inTransaction(database.pool, act);
const observing = () => ({ conferenceId: game.conferenceId, personId: game.observerId });
const coordinating = () => ({ conferenceId: game.conferenceId, personId: game.coordinatorId });
const file = () =>
  work(async (client) => {
    await confirmCrew(client, observing(), game.gameId);
    await fileReport(client, observing(), reportId);
  });
const add = (after: string | null, reason = '') =>
  work((client) => addLoggedPlay(client, coordinating(), game.gameId, { after, play: plainPlay(7), reason }));
const log = () => playLog(database.pool, game.conferenceId, game.gameId);

describe('a play added by hand', () => {
  test('goes where it is put: first, in between, or last; the others keep their order', async () => {
    const first = await add(null);
    const between = await add(game.playIds[4]!);
    const last = await add(game.playIds.at(-1)!);
    const plays = await log();
    expect(plays.map(({ number }) => number)).toEqual(Array.from({ length: 33 }, (_, at) => at + 1));
    expect(plays.map(({ id }) => id)).toEqual([
      first.playId,
      ...game.playIds.slice(0, 5),
      between.playId,
      ...game.playIds.slice(5),
      last.playId,
    ]);
  });

  test('after filing needs a reason, is counted, and makes a released report a new revision', async () => {
    await file();
    await expect(add(null)).rejects.toThrow('Give the reason: a report of this game is filed.');
    expect(await log()).toHaveLength(30);
    const filed = await add(null, 'missing in the log');
    expect(filed.recounted).toHaveLength(1);
    expect(filed.recounted[0]!.after).toBeGreaterThan(filed.recounted[0]!.before);
    await work((client) => acceptReport(client, coordinating(), reportId));
    await work((client) => releaseReport(client, coordinating(), reportId));
    const before = await reportRevisions(database.pool, game.conferenceId, reportId);
    await add(game.playIds[0]!, 'seen on film');
    const after = await reportRevisions(database.pool, game.conferenceId, reportId);
    expect(after).toHaveLength(before.length + 1);
    const [entry] = await newestEntries(database.pool, game.conferenceId, { most: 1 });
    expect(entry).toMatchObject({ action: 'play added', reason: 'seen on film' });
  });

  test('is refused behind a play that is not in the log, and of another game', async () => {
    const other = await oneGame(database.pool, 1);
    await expect(add(other.playIds[0]!)).rejects.toThrow('not in the play log of this game');
    expect(await log()).toHaveLength(30);
  });
});

describe('a working crew entered by hand', () => {
  const crewOf = (change: Partial<Record<Position, string>> = {}) =>
    positions.map((position) => ({ position, personId: change[position] ?? game.crew[position]! }));
  const correct = (crew: ReturnType<typeof crewOf>) =>
    work((client) => correctWorkingCrew(client, coordinating(), game.gameId, crew));

  test('is confirmed by it, and marks not yet filed go with their position', async () => {
    await work((client) =>
      putMarks(client, observing(), reportId, [
        {
          playId: game.playIds[0]!,
          personId: game.crew.umpire!,
          position: 'umpire',
          dutyKey: everybodysDuty.key,
          finding: 'missed',
          comment: 'looked away',
        },
      ]),
    );
    await correct(crewOf({ umpire: game.crew.referee!, referee: game.crew.umpire! }));
    const [mark] = await marksOf(database.pool, game.conferenceId, reportId);
    expect(mark).toMatchObject({ position: 'umpire', personId: game.crew.referee });
    const [entry] = await newestEntries(database.pool, game.conferenceId, { most: 1 });
    expect(entry).toMatchObject({
      action: 'working crew confirmed',
      before: { umpire: game.crew.umpire },
      after: { umpire: game.crew.referee },
    });
  });

  test('is not exchanged under a filed report, nor made of nobody, of one person twice, or of strangers', async () => {
    await expect(correct([])).rejects.toThrow('Enter at least one official.');
    const refused = { errors: [{ field: 'member-umpire' }] };
    await expect(correct(crewOf({ umpire: game.crew.referee! }))).rejects.toMatchObject(refused);
    await expect(correct(crewOf({ umpire: game.observerId }))).rejects.toMatchObject(refused);
    await file();
    await correct(crewOf());
    await expect(correct(crewOf().slice(1))).rejects.toThrow('is filed with another crew');
  });
});

test('who owed what leads on while there is no crew, and while there is no rubric', async () => {
  const app = await testApp(database);
  const { agent } = await personSignedIn(app, game.conferenceId, ['coordinator']);
  const address = `/games/${game.gameId}/plays/${game.playIds[0]}/duties`;
  expect((await agent.get(address).expect(200)).text).not.toContain('Nobody is entered as working');
  await database.pool.query('DELETE FROM working_crew_member WHERE conference_id = $1', [game.conferenceId]);
  const { text } = await agent.get(address).expect(200);
  expect(text).toContain('Nobody is entered as working this game yet.');
  expect(text).toContain(`href="/games/${game.gameId}/crew"`);
  await database.pool.query('DELETE FROM duty WHERE conference_id = $1', [game.conferenceId]);
  await database.pool.query('DELETE FROM rubric_version WHERE conference_id = $1', [game.conferenceId]);
  expect((await agent.get(address)).headers.location).toBe(`/seasons/${game.seasonId}/rubric/start`);
  await app.close();
});

test('a crew of a size the rubric lacks is told in one sentence with the way on, not asked for more plays', async () => {
  await database.pool.query(
    `UPDATE duty SET definition = jsonb_set(definition, '{crewSizes}', '[5]') - 'instead'
      WHERE conference_id = $1`,
    [game.conferenceId],
  );
  const refused = await file().then(
    () => undefined,
    (error) => error,
  );
  expect(refused).toBeInstanceOf(ReportIncomplete);
  expect(refused.missing.map((one: { message: string }) => one.message)).toEqual([
    'The rubric expects nothing of a crew of 8: its duties need that crew size, which the coordinator adds on the Rubric page.',
  ]);
});
