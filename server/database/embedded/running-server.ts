import { spawn } from 'node:child_process';
import { readFile, readlink, realpath, stat, writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import path from 'node:path';
import pg from 'pg';
import { StartupError } from '../startup-error.ts';
import type { Binaries } from './binaries.ts';
import { connectionUrl } from './connection.ts';
import { pause } from './files.ts';
import type { ServerAccount } from './server-account.ts';

/** What is needed to start or find the server of a cluster. */
export type Cluster = { binaries: Binaries; folder: string; password: string; account: ServerAccount };

/**
 * The port of a server that already runs on this folder, or undefined.
 * A pid file alone proves nothing: it can outlive its server and its number can be a stranger's by now.
 */
export async function adoptRunningServer({
  folder,
  password,
}: Pick<Cluster, 'folder' | 'password'>): Promise<number | undefined> {
  const pidFile = path.join(folder, 'postmaster.pid');
  for (const deadline = Date.now() + 60_000; ; ) {
    const lines = await readFile(pidFile, 'utf8').then(
      (text) => text.split('\n'),
      () => undefined,
    );
    if (!lines) return undefined;
    const pid = Number(lines[0]);
    const port = Number(lines[3]);
    if (port > 0 && (await servesFolder(port, password, folder))) return port;
    if (!alive(pid)) return undefined; // PostgreSQL itself replaces the file of a dead server
    if (await isNotOurs(pid, folder)) {
      await disownPidFile(pidFile, lines);
      return undefined;
    }
    if (Date.now() > deadline) {
      throw new StartupError(
        `A process (${pid}) holds the database folder ${folder} but does not answer; stop it, or set DATA_DIR to another folder.`,
      );
    }
    await pause(200); // ours, still starting or recovering
  }
}

async function servesFolder(port: number, password: string, folder: string): Promise<boolean> {
  const client = new pg.Client({
    connectionString: connectionUrl(port, password, 'postgres'),
    connectionTimeoutMillis: 2000,
  });
  client.on('error', () => {});
  try {
    await client.connect();
    const { rows } = await client.query('SHOW data_directory');
    return (await realpath(rows[0].data_directory)) === folder;
  } catch {
    return false;
  } finally {
    await client.end().catch(() => {});
  }
}

function alive(pid: number): boolean {
  if (!(pid > 0)) return false;
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** True when the system says that `pid` is no server of this folder. Known on Linux only; elsewhere never claimed. */
async function isNotOurs(pid: number, folder: string): Promise<boolean> {
  const state = await readFile(`/proc/${pid}/stat`, 'utf8').catch(() => '');
  if (/^\d+ \(.*\) Z /s.test(state)) return true; // ended, and not yet collected by its parent
  const workingFolder = await readlink(`/proc/${pid}/cwd`).catch(() => undefined);
  return workingFolder !== undefined && workingFolder !== folder; // a server works in its data folder
}

/**
 * Puts a number that no process can have in place of the stranger's. The rest of the file stays: by it PostgreSQL
 * makes sure that no orphan of the old server still holds the folder's shared memory.
 */
async function disownPidFile(pidFile: string, lines: string[]): Promise<void> {
  const beyondLinuxPids = '4194304';
  await writeFile(pidFile, [beyondLinuxPids, ...lines.slice(1)].join('\n'));
}

/** The process that serves the folder, as far as its pid file says; 0 when there is none. */
export async function postmasterPid(folder: string): Promise<number> {
  const text = await readFile(path.join(folder, 'postmaster.pid'), 'utf8').catch(() => '');
  return Number(text.split('\n')[0]) || 0;
}

export async function serverLives(pid: number, folder: string): Promise<boolean> {
  return alive(pid) && !(await isNotOurs(pid, folder));
}

const mostAttempts = 3;

/** Processes of a server that was killed may hold its shared memory for a while; they end by themselves. */
const orphansGoneAfterMs = 60_000;
const heldByOrphans = /pre-existing shared memory block/;

/**
 * Starts the server, at the port it had before if that is free.
 * @returns the port: of a server that another process started meanwhile, if so.
 * @throws StartupError with what the server's log says.
 */
export async function startServer(cluster: Cluster): Promise<number> {
  const { binaries, folder, account } = cluster;
  const log = path.join(folder, 'server.log');
  const patience = Date.now() + orphansGoneAfterMs;
  for (let attempt = 1; ; attempt++) {
    const before = await stat(log).then(
      ({ size }) => size,
      () => 0,
    );
    const last = attempt === 1 ? await lastPort(folder) : undefined;
    const port = last !== undefined && (await isFree(last)) ? last : await freePort();
    const options = [
      `-p ${port}`,
      '-c listen_addresses=127.0.0.1',
      '-c unix_socket_directories=',
      '-c max_connections=200',
      '-c shared_buffers=128MB',
      // Its own errors are told by us. An ERROR's line would hold values, and so would the statement and the context.
      '-c log_min_messages=log',
      '-c log_min_error_statement=panic',
      '-c log_error_verbosity=terse',
      // After a crash the server ends, and is started anew by us: PostgreSQL 18 stays for ever, answering nobody, when its
      // own way of starting again meets a full disk.
      '-c restart_after_crash=off',
    ].join(' ');
    try {
      // No pipe: pg_ctl hands its output to the server, which would keep ours open for ever.
      await detachedRun(
        binaries.pg_ctl,
        ['-D', folder, '-l', log, '-w', '-t', '120', '-o', options, 'start'],
        account,
      );
      return port;
    } catch {
      const rival = await adoptRunningServer(cluster);
      if (rival !== undefined) return rival;
      const told = await readFile(log).then(
        (bytes) => bytes.subarray(before).toString().trim().split('\n'),
        () => [],
      );
      if (told.some((line) => heldByOrphans.test(line)) && Date.now() < patience) {
        attempt = 0;
        await pause(300);
        continue;
      }
      if (attempt === mostAttempts) {
        const reason = told.findLast((line) => /FATAL|PANIC|ERROR/.test(line)) ?? told.at(-1) ?? '';
        throw new StartupError(`The database in ${folder} did not start: ${reason} (more in ${log}).`);
      }
    }
  }
}

function detachedRun(file: string, args: string[], account: ServerAccount): Promise<void> {
  return new Promise((resolve, reject) => {
    const child = spawn(file, args, { ...account, stdio: 'ignore', env: { ...process.env, LC_ALL: 'C' } });
    child.once('error', reject);
    child.once('exit', (code) => (code === 0 ? resolve() : reject(new Error(`exit code ${code}`))));
  });
}

/** The port of the server's last start, which PostgreSQL notes. */
async function lastPort(folder: string): Promise<number | undefined> {
  const options = await readFile(path.join(folder, 'postmaster.opts'), 'utf8').catch(() => '');
  const port = Number(/"-p" "(\d+)"/.exec(options)?.[1]);
  return port > 0 ? port : undefined;
}

/** A port from below those that systems give to outgoing connections: one of these could hold ours at a restart. */
async function freePort(): Promise<number> {
  for (;;) {
    const port = 15_000 + Math.floor(Math.random() * 17_000);
    if (await isFree(port)) return port;
  }
}

function isFree(port: number): Promise<boolean> {
  return new Promise((resolve) => {
    const probe = createServer();
    probe.once('error', () => resolve(false));
    probe.listen(port, '127.0.0.1', () => probe.close(() => resolve(true)));
  });
}
