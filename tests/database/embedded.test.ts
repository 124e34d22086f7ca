// @module-tag rest
import { execFileSync, fork } from 'node:child_process';
import { readFile, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { beforeAll, expect, test } from 'vitest';
import { startEmbeddedPostgres } from '../../server/database/embedded.ts';
import { program } from '../support/program.ts';
import { folderInRun } from '../support/test-run.ts';

// One folder for those that do not ask how it is made.
let dataDir: string;
beforeAll(async () => {
  dataDir = await folderInRun('embedded');
});

async function query(url: string, sql: string) {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query(sql)).rows;
  } finally {
    await client.end();
  }
}

const postmasterPid = async () =>
  Number((await readFile(path.join(dataDir, 'postgres', 'postmaster.pid'), 'utf8')).split('\n')[0]);

/** A starter in a process of its own, to be killed without warning. */
async function startInOtherProcess(): Promise<{ url: string; kill(): void }> {
  const [starter] = program('tests/support/start-embedded.ts');
  const child = fork(starter!, [dataDir], { execArgv: [] });
  return new Promise((resolve, reject) => {
    child.once('message', (url) => resolve({ url: String(url), kill: () => child.kill('SIGKILL') }));
    child.once('exit', (code) => reject(new Error(`starter ended with ${code}`)));
  });
}

test('data survives a stop and a start', async () => {
  const first = await startEmbeddedPostgres(dataDir);
  await query(first.url, 'CREATE TABLE kept AS SELECT 42 AS answer');
  await expect(query(first.url, `SELECT 'what somebody wrote'::uuid`)).rejects.toThrow('what somebody wrote');
  await first.stop();
  await expect(query(first.url, 'SELECT 1')).rejects.toThrow();
  const second = await startEmbeddedPostgres(dataDir);
  expect(second.adopted).toBe(false);
  expect(await query(second.url, 'SELECT answer FROM kept')).toEqual([{ answer: 42 }]);
  await second.stop();
  const log = await readFile(path.join(dataDir, 'postgres', 'server.log'), 'utf8');
  expect(log).toContain('database system is ready');
  expect(log).not.toContain('what somebody wrote');
});

test("a killed process's server is adopted, with its data, and then stopped", async () => {
  const other = await startInOtherProcess();
  await query(other.url, 'CREATE TABLE adopted AS SELECT 7 AS answer');
  other.kill();
  const adopted = await startEmbeddedPostgres(dataDir);
  expect(adopted.adopted).toBe(true);
  expect(await query(adopted.url, 'SELECT answer FROM adopted')).toEqual([{ answer: 7 }]);
  await adopted.stop();
  await expect(query(adopted.url, 'SELECT 1')).rejects.toThrow(/ECONNREFUSED/);
  await expect(postmasterPid()).rejects.toThrow(/ENOENT/);
});

test('kill -9 of the whole process tree, server included, is recovered from', async () => {
  const other = await startInOtherProcess();
  await query(other.url, 'CREATE TABLE recovered AS SELECT 9 AS answer');
  const pid = await postmasterPid();
  other.kill();
  process.kill(pid, 'SIGKILL');
  const next = await startEmbeddedPostgres(dataDir);
  expect(await query(next.url, 'SELECT answer FROM recovered')).toEqual([{ answer: 9 }]);
  await next.stop();
});

test('a stale pid file that names a stranger is not trusted', async () => {
  const first = await startEmbeddedPostgres(dataDir);
  const file = path.join(dataDir, 'postgres', 'postmaster.pid');
  const content = (await readFile(file, 'utf8')).split('\n');
  await first.stop();
  const stranger = fork(new URL('../support/idle.mjs', import.meta.url), [], { cwd: os.tmpdir() });
  try {
    content[0] = String(stranger.pid);
    await writeFile(file, content.join('\n'));
    if (process.getuid?.() === 0) execFileSync('chown', ['postgres', file]);
    const next = await startEmbeddedPostgres(dataDir);
    expect(next.adopted).toBe(false);
    expect(await query(next.url, 'SELECT 1 AS one')).toEqual([{ one: 1 }]);
    await next.stop();
    expect(stranger.exitCode).toBeNull();
  } finally {
    stranger.kill();
  }
});

test('two starters at once share one server; the first to stop leaves it to the other', async () => {
  const fresh = await folderInRun('embedded'); // both find no cluster
  const [one, two] = await Promise.all([startEmbeddedPostgres(fresh), startEmbeddedPostgres(fresh)]);
  expect(one.url).toBe(two.url);
  const user = new pg.Client({ connectionString: two.url });
  await user.connect();
  await one.stop();
  expect((await user.query('SELECT 1 AS one')).rows).toEqual([{ one: 1 }]);
  await user.end();
  await two.stop();
});

test('a starter that has not connected yet keeps the server; one that comes while it is stopped starts it again', async () => {
  const first = await startEmbeddedPostgres(dataDir);
  const second = await startEmbeddedPostgres(dataDir);
  await first.stop();
  expect(await query(second.url, 'SELECT 1 AS one')).toEqual([{ one: 1 }]);
  const [, third] = await Promise.all([second.stop(), startEmbeddedPostgres(dataDir)]);
  expect(await query(third.url, 'SELECT 1 AS one')).toEqual([{ one: 1 }]);
  await third.stop();
  await expect(query(third.url, 'SELECT 1')).rejects.toThrow();
});

test('a data folder that cannot be made is told in one sentence that names DATA_DIR', async () => {
  await writeFile(path.join(dataDir, 'file'), '');
  await expect(startEmbeddedPostgres(path.join(dataDir, 'file', 'below'))).rejects.toThrow(
    /cannot be written \(ENOTDIR\); set DATA_DIR/,
  );
});
