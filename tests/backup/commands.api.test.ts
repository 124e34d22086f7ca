// @module-tag rest
import { execFile } from 'node:child_process';
import { readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startDebianPostgres } from '../support/debian-postgres.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { program } from '../support/program.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { everyRow } from './every-row.ts';

// The commands as docs/keeping-safe.md gives them: from an external database into an embedded one and on to another server, of
// another version of PostgreSQL.

let source: TestDatabase;
let debian: Awaited<ReturnType<typeof startDebianPostgres>>;
let folder: string;
beforeAll(async () => {
  source = await testDatabase();
  debian = await startDebianPostgres();
  folder = await folderInRun('commands');
  await makePerson(source.pool, await makeConference(source.pool, 'Lakeland'), ['coordinator']);
});
afterAll(async () => {
  await debian.stop();
  await source.drop();
});

async function run(command: 'backup' | 'restore', env: Record<string, string>, ...args: string[]) {
  const started = program(`server/backup/${command}-command.ts`);
  return promisify(execFile)('node', [...started, ...args], {
    env: { ...process.env, ...env },
    cwd: folder,
  }).then(
    ({ stdout }) => ({ code: 0, out: stdout }),
    (error) => ({ code: error.code as number, out: `${error.stdout}${error.stderr}` }),
  );
}

test('a conference moves from machine to machine by the two commands', async () => {
  const external = { DATABASE_URL: source.url };
  const embedded = { DATABASE_URL: '', DATA_DIR: path.join(folder, 'data') };
  const other = { DATABASE_URL: debian.url };
  const written = await run('backup', external, 'first.backup');
  expect(written).toMatchObject({
    code: 0,
    out: expect.stringMatching(/Written to .+first\.backup: Lakeland; /),
  });
  expect(await run('backup', external, 'first.backup')).toMatchObject({
    code: 1,
    out: expect.stringMatching(/is there already; give another name, or --overwrite/),
  });
  expect((await run('backup', external, 'first.backup', '--overwrite')).code).toBe(0);
  expect(await run('backup', {}, '--check', 'first.backup')).toMatchObject({
    code: 0,
    out: expect.stringMatching(
      /first\.backup is whole: Lakeland; .+ written by version \d+\.\d+\.\d+, its last migration /,
    ),
  });
  expect((await run('restore', embedded, 'first.backup')).code).toBe(0);
  expect((await run('backup', embedded, 'second.backup')).code).toBe(0);
  expect((await run('restore', other, 'second.backup')).code).toBe(0);
  const client = new pg.Client({ connectionString: debian.url });
  await client.connect();
  expect(await everyRow(client)).toEqual(await everyRow(source.pool));
  await client.end();
  expect(await run('restore', other, 'first.backup')).toMatchObject({
    code: 1,
    out: expect.stringMatching(
      /The database holds Lakeland \(1 people, 0 reports\); restore into an empty one, or add --replace/,
    ),
  });
  expect(await run('restore', other, 'first.backup', '--replace')).toMatchObject({
    code: 1,
    out: expect.stringMatching(/no terminal to ask on; add --yes/),
  });
  expect((await run('restore', other, 'first.backup', '--replace', '--yes')).code).toBe(0);
});

test('what cannot be done is said in one sentence, without a trace of the program', async () => {
  await writeFile(path.join(folder, 'other.zip'), await readFile(new URL(import.meta.url)));
  const nowhere = { DATABASE_URL: 'postgresql://nobody@127.0.0.1:1/none' };
  const refused: Array<[Awaited<ReturnType<typeof run>>, RegExp]> = [
    [await run('backup', nowhere), /^Say where to: npm run backup/],
    [
      await run('backup', nowhere, 'x.backup'),
      /^The database cannot be reached \(.+\); check DATABASE_URL\.\n$/,
    ],
    [await run('backup', nowhere, '--check', 'other.zip'), /other\.zip is no backup of Crewmark\.\n$/],
    [await run('restore', nowhere), /^Say from where: npm run restore/],
    [await run('restore', nowhere, 'absent'), /^There is no file .+absent\.\n$/],
    [await run('restore', nowhere, '--frobnicate', 'x'), /^Say from where/],
  ];
  for (const [{ code, out }, sentence] of refused) {
    expect([code, out]).toEqual([1, expect.stringMatching(sentence)]);
  }
});
