// @module-tag long
import { execFile } from 'node:child_process';
import { promisify } from 'node:util';
import pg from 'pg';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { appendAudit } from '../../server/accounts/audit/audit.ts';
import { verifyAudit } from '../../server/accounts/audit/audit-verification.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { makeConference } from '../support/people.ts';
import { program } from '../support/program.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let owner: pg.Client;
let conferenceId: string;
beforeAll(async () => {
  database = await testDatabase();
  owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
});
afterAll(async () => {
  await owner.end();
  await database.drop();
});

const add = (action: string, more: object = {}, conference = conferenceId) =>
  inTransaction(database.pool, (client) =>
    appendAudit(client, {
      conferenceId: conference,
      actorId: null,
      action,
      subjectKind: 'report',
      subjectId: 'r1',
      ...more,
    }),
  );

beforeEach(async () => {
  conferenceId = await makeConference(database.pool);
  await add('drafted', {
    before: null,
    after: { z: 1.5, a: [true, null, { deep: 'é😀' }], when: new Date(0) },
  });
  await add('filed', { reason: 'done', before: { grade: 1e21 }, after: { grade: -0 } });
  await add('released', { after: 'plain text' });
  await add('corrected', { reason: 'wrong play', before: {}, after: [] });
});

/** What only someone with the database owner's password can do. */
async function tamper(sql: string, values: unknown[] = []) {
  await owner.query('ALTER TABLE audit_entry DISABLE TRIGGER audit_entry_append_only');
  await owner.query(sql, values);
  await owner.query('ALTER TABLE audit_entry ENABLE TRIGGER audit_entry_append_only');
}
const faults = async () => (await verifyAudit(owner, conferenceId)).faults;

test('an untouched trail holds', async () => {
  const found = await verifyAudit(owner, conferenceId);
  expect(found).toMatchObject({ entries: 4, faults: [] });
  expect(found.head).toEqual({ number: 4, hash: expect.stringMatching(/^[0-9a-f]{64}$/) });
});

test.each([
  ['action', "'approved'"],
  ['at', "at + interval '1 millisecond'"],
  ['actor_id', 'gen_random_uuid()'],
  ['subject_kind', "'letter'"],
  ['subject_id', "'r2'"],
  ['reason', 'NULL'],
  ['before', '\'{"grade": 2}\''],
  ['after', 'NULL'],
])('a changed %s is found and the row named', async (column, value) => {
  await tamper(`UPDATE audit_entry SET ${column} = ${value} WHERE conference_id = $1 AND number = 2`, [
    conferenceId,
  ]);
  expect(await faults()).toEqual([expect.stringMatching(/^entry 2 \(.+\) was changed$/)]);
});

test('a removed row is found, and so are a removed beginning and rows that changed places', async () => {
  await tamper('DELETE FROM audit_entry WHERE conference_id = $1 AND number = 2', [conferenceId]);
  expect(await faults()).toEqual(['entry 2 is missing']);
  await tamper('DELETE FROM audit_entry WHERE conference_id = $1 AND number = 1', [conferenceId]);
  expect(await faults()).toEqual(['entries 1 to 2 are missing']);
});

test('closing the gap by renumbering does not hide a removal', async () => {
  await tamper('DELETE FROM audit_entry WHERE conference_id = $1 AND number = 2', [conferenceId]);
  await tamper('UPDATE audit_entry SET number = number - 1 WHERE conference_id = $1 AND number = 3', [
    conferenceId,
  ]);
  await tamper('UPDATE audit_entry SET number = number - 1 WHERE conference_id = $1 AND number = 4', [
    conferenceId,
  ]);
  expect((await faults()).join()).toMatch(/entry 2 .*(changed|follow)/);
});

test('removed newest rows are seen only with a head noted before', async () => {
  const { head } = await verifyAudit(owner, conferenceId);
  await tamper('DELETE FROM audit_entry WHERE conference_id = $1 AND number = 4', [conferenceId]);
  expect(await faults()).toEqual([]);
  expect((await verifyAudit(owner, conferenceId, [head!])).faults).toEqual([
    'entry 4, noted earlier, is gone: the newest entries were removed',
  ]);
  await add('corrected', { reason: 'another story' });
  expect((await verifyAudit(owner, conferenceId, [head!])).faults).toEqual([
    'entry 4 is not the one noted earlier: the trail was rewritten up to it',
  ]);
});

test('what is rolled back leaves no entry, and no gap', async () => {
  await expect(
    inTransaction(database.pool, async (client) => {
      await appendAudit(client, {
        conferenceId,
        actorId: null,
        action: 'never happened',
        subjectKind: 'report',
        subjectId: 'r1',
      });
      throw new Error('no');
    }),
  ).rejects.toThrow('no');
  expect(await add('happened')).toBe(5);
  expect(await faults()).toEqual([]);
});

test('many writers at once make one unbroken chain per conference', async () => {
  const other = await makeConference(database.pool);
  await Promise.all(
    Array.from({ length: 40 }, (_, i) => add(`act ${i}`, {}, i % 2 === 0 ? conferenceId : other)),
  );
  expect(await verifyAudit(owner, conferenceId)).toMatchObject({ entries: 24, faults: [] });
  expect(await verifyAudit(owner, other)).toMatchObject({ entries: 20, faults: [] });
});

test('npm run audit:verify exits 0 when all holds, 1 with the row named, 2 when it cannot look', {
  tags: ['long'],
}, async () => {
  const fresh = await testDatabase();
  const superuser = new pg.Client({ connectionString: fresh.url });
  await superuser.connect();
  try {
    const id = await makeConference(fresh.pool);
    await inTransaction(fresh.pool, (client) =>
      appendAudit(client, {
        conferenceId: id,
        actorId: null,
        action: 'one',
        subjectKind: 'k',
        subjectId: 's',
      }),
    );
    const run = async (url: string, ...args: string[]) =>
      promisify(execFile)('node', [...program('server/proof/verify-audit.ts'), ...args], {
        env: { ...process.env, DATABASE_URL: url },
      }).then(
        ({ stdout }) => ({ code: 0, out: stdout }),
        (error) => ({ code: error.code as number, out: `${error.stdout}${error.stderr}` }),
      );
    const sound = await run(fresh.url);
    expect(sound).toMatchObject({ code: 0, out: expect.stringContaining('1 entries hold') });
    const noted = /--head (\S+)/.exec(sound.out)![1]!;
    await superuser.query('ALTER TABLE audit_entry DISABLE TRIGGER ALL');
    await superuser.query("UPDATE audit_entry SET action = 'two'");
    expect(await run(fresh.url)).toMatchObject({
      code: 1,
      out: expect.stringContaining('entry 1 (two k s) was changed'),
    });
    await superuser.query('DELETE FROM audit_entry');
    expect((await run(fresh.url, '--head', noted)).code).toBe(1);
    expect(await run(fresh.url, '--head', 'nonsense')).toMatchObject({ code: 2 });
    expect(await run('postgresql://nobody@127.0.0.1:1/none')).toMatchObject({
      code: 2,
      out: expect.stringMatching(/^The database cannot be reached \(.+\); check DATABASE_URL\.\n$/),
    });
  } finally {
    await superuser.end();
    await fresh.drop();
  }
});
