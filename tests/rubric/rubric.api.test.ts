import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { changeRubric, type RubricChange } from '../../server/rubric/change-duty.ts';
import { dutyFingerprint } from '../../server/rubric/fingerprints.ts';
import { readRubric, readVersions } from '../../server/rubric/read-rubric.ts';
import { RubricChangedMeanwhile, RubricChangeRefused } from '../../server/rubric/refusals.ts';
import { startRubric } from '../../server/rubric/start-rubric.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let game: OneGame;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());
beforeEach(async () => {
  game = await oneGame(database.pool, 12);
});

const current = () => readRubric(database.pool, game.conferenceId, game.seasonId);
const actor = () => ({ conferenceId: game.conferenceId, personId: game.coordinatorId });
const change = (what: RubricChange, note = '') =>
  inTransaction(database.pool, (client) => changeRubric(client, actor(), game.seasonId, what, note));

async function duty(key: string) {
  const found = (await current())!.duties.find((one) => one.key === key)!;
  return { found, seen: dutyFingerprint(found) };
}

async function reweigh(key: string, weight: number) {
  const { found, seen } = await duty(key);
  return change({ kind: 'change', key, seen, duty: { ...found, weight } }, 'matters more');
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

describe('the rubric of a season', () => {
  test('is the starting rubric unless it has one', async () => {
    const seasonId = await anotherSeason();
    const start = () => inTransaction(database.pool, (client) => startRubric(client, actor(), seasonId));
    const id = await start();
    expect(await start()).toBe(id);
    const rubric = (await readRubric(database.pool, game.conferenceId, seasonId))!;
    expect(rubric.number).toBe(1);
    const byKey = (a: { key: string }, b: { key: string }) => (a.key < b.key ? -1 : 1);
    expect([...rubric.duties].sort(byKey)).toEqual([...startingRubric].sort(byKey));
  });

  test('is changed itself while no report was filed with it', async () => {
    const changed = await reweigh('dead-ball-signal', 7);
    expect(changed).toMatchObject({ number: 1, newVersion: false });
    expect((await duty('dead-ball-signal')).found.weight).toBe(7);
    expect(await readVersions(database.pool, game.conferenceId, game.seasonId)).toHaveLength(1);
  });

  test('gets a new version after a report was filed, which keeps its own', async () => {
    const reportId = await fileAReport();
    const changed = await reweigh('dead-ball-signal', 7);
    expect(changed).toMatchObject({ number: 2, newVersion: true });
    expect(await reweigh('dead-ball-signal', 8)).toMatchObject({ number: 2, newVersion: false });

    const first = (await readRubric(database.pool, game.conferenceId, game.seasonId, 1))!;
    expect(first.duties.find((one) => one.key === 'dead-ball-signal')!.weight).toBe(2);
    expect(first.filedReports).toBe(1);
    expect((await current())!.duties).toHaveLength(first.duties.length);
    const { rows } = await database.pool.query('SELECT rubric_version_id FROM report WHERE id = $1', [
      reportId,
    ]);
    expect(rows[0].rubric_version_id).toBe(first.id);
  });

  test('takes a new duty and gives one up', async () => {
    const { found } = await duty('dead-ball-signal');
    await change({ kind: 'add', duty: { ...found, key: 'one-more' } });
    const { seen } = await duty('one-more');
    await change({ kind: 'remove', key: 'one-more', seen });
    expect((await current())!.duties.some((one) => one.key === 'one-more')).toBe(false);
  });

  test('refuses what cannot be, and changes nothing', async () => {
    const { found, seen } = await duty('dead-ball-signal');
    const before = await current();
    const refusalsOf = async (what: RubricChange) => {
      const error = await change(what).catch((caught: unknown) => caught);
      expect(error).toBeInstanceOf(RubricChangeRefused);
      return (error as RubricChangeRefused).refusals.map(({ field }) => field);
    };
    expect(await refusalsOf({ kind: 'add', duty: found })).toEqual(['key']);
    const key = found.key;
    expect(await refusalsOf({ kind: 'change', key, seen, duty: { ...found, key: 'other' } })).toEqual([
      'key',
    ]);
    expect(await refusalsOf({ kind: 'change', key, seen, duty: { ...found, weight: -1 } })).toEqual([
      'weight',
    ]);
    const contradiction = { ...found, allOf: ['run', 'punt'] };
    expect(await refusalsOf({ kind: 'change', key, seen, duty: contradiction })).toEqual(['allOf']);
    expect(await current()).toEqual(before);
  });

  test('refuses a change of what is no longer there or no longer the same', async () => {
    const { found, seen } = await duty('dead-ball-signal');
    const key = found.key;
    await reweigh(key, 9);
    await expect(change({ kind: 'change', key, seen, duty: found })).rejects.toThrow(RubricChangedMeanwhile);
    await expect(change({ kind: 'remove', key, seen })).rejects.toThrow(RubricChangedMeanwhile);
    await expect(change({ kind: 'remove', key: 'gone', seen })).rejects.toThrow(/removed in the meantime/);
  });

  test('of two changes of one duty at once, exactly one is made', async () => {
    const { found, seen } = await duty('dead-ball-signal');
    const both = await Promise.allSettled(
      [3, 4].map((weight) => change({ kind: 'change', key: found.key, seen, duty: { ...found, weight } })),
    );
    expect(both.map((one) => one.status).sort()).toEqual(['fulfilled', 'rejected']);
  });

  test('a report that is being filed is counted under one version, whole', async () => {
    const filing = fileAReport();
    const changing = reweigh('dead-ball-signal', 6);
    const [reportId] = await Promise.all([filing, changing]);
    const { rows } = await database.pool.query(
      `SELECT d.weight, v.number FROM report r
         JOIN rubric_version v ON v.id = r.rubric_version_id
         JOIN duty d ON d.rubric_version_id = v.id AND d.key = 'dead-ball-signal' WHERE r.id = $1`,
      [reportId],
    );
    const { number, newVersion } = await changing;
    // Filed before the change: the first version with the old weight. After it: with the new one.
    if (newVersion) expect(rows[0]).toEqual({ weight: 2, number: 1 });
    else expect(rows[0]).toEqual({ weight: 6, number });
  });

  test('each change is in the audit trail with what it was and why', async () => {
    await reweigh('dead-ball-signal', 5);
    const { rows } = await database.pool.query(
      `SELECT action, reason, before->>'weight' AS before, after->>'weight' AS after FROM audit_entry
        WHERE conference_id = $1 AND subject_kind = 'rubric_version'`,
      [game.conferenceId],
    );
    expect(rows).toEqual([{ action: 'duty changed', reason: 'matters more', before: '2', after: '5' }]);
  });

  test("another conference's season has no rubric here", async () => {
    const other = await oneGame(database.pool, 1);
    expect(await readRubric(database.pool, other.conferenceId, game.seasonId)).toBeUndefined();
  });
});

async function anotherSeason(): Promise<string> {
  const { rows } = await database.pool.query(
    `INSERT INTO season (conference_id, name) VALUES ($1, 'Another') RETURNING id`,
    [game.conferenceId],
  );
  return rows[0].id;
}
