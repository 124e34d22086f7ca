// @module-tag rest
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readdir, readFile, writeFile } from 'node:fs/promises';
import { connect, createServer, type Server, type Socket } from 'node:net';
import path from 'node:path';
import { Upload } from 'tus-js-client';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { ownPort } from '../support/own-port.ts';
import { program } from '../support/program.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { largeFilm, makeFilms, picturesOf } from './made-films.ts';

// The program itself, killed without warning while a film arrives and while one is looked at; the client is the
// protocol's own, as the page loads it.

let database: TestDatabase;
let game: OneGame;
let store: string;
let at: (name: string) => string;
let port: number;
let child: ChildProcess;
let headers: Record<string, string>;

beforeAll(async () => {
  const folder = await folderInRun('films');
  at = await makeFilms(folder);
  store = await folderInRun('store');
  database = await testDatabase();
  game = await oneGame(database.pool, 3);
  const token = await startSession(database.pool, {
    conferenceId: game.conferenceId,
    personId: game.coordinatorId,
  });
  const { csrfToken } = (await findSession(database.pool, token))!.session;
  headers = { cookie: `crewmark_session=${token}`, 'x-csrf-token': csrfToken };
  port = await ownPort();
  await start();
}, 180_000);
afterAll(async () => {
  await kill();
  await database.drop();
});

async function start(more: NodeJS.ProcessEnv = {}): Promise<void> {
  child = spawn(process.execPath, program('server/start.ts'), {
    env: {
      ...process.env,
      ...{
        DATABASE_URL: database.url,
        PORT: String(port),
        DEMO: 'off',
        FILM_STORE: store,
        LOG_LEVEL: 'warn',
      },
      ...more,
    },
    stdio: 'ignore',
  });
  while (!(await isUp())) await new Promise((resolve) => setTimeout(resolve, 200));
}
const isUp = () =>
  fetch(`http://127.0.0.1:${port}/ready`).then(
    ({ ok }) => ok,
    () => false,
  );
async function kill(): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = once(child, 'close');
  child.kill('SIGKILL');
  await gone;
}

/** A line to the server that is cut after so many bytes from the client, once, and works from then on. */
async function cutLine(after: number): Promise<{ server: Server; port: number; cuts: () => number }> {
  let cuts = 0;
  let passed = 0;
  const server = createServer((client: Socket) => {
    const line = connect(port, '127.0.0.1');
    const end = () => {
      client.destroy();
      line.destroy();
    };
    client.on('data', (bytes) => {
      passed += bytes.length;
      if (passed > after && cuts === 0) {
        cuts += 1;
        end();
      }
    });
    client.pipe(line).pipe(client);
    for (const socket of [client, line]) socket.on('error', end).on('close', end);
  }).listen(0, '127.0.0.1');
  await once(server, 'listening');
  return { server, port: (server.address() as { port: number }).port, cuts: () => cuts };
}

interface Uploading {
  port: number;
  angle: string;
  onProgress?(sent: number): void;
}

const upload = (film: Buffer, { port: to, angle, onProgress }: Uploading) =>
  new Promise<string>((resolve, reject) => {
    const running = new Upload(film as unknown as Blob, {
      endpoint: `http://127.0.0.1:${to}/api/games/${game.gameId}/films/uploads`,
      chunkSize: 4 * 1024 * 1024,
      retryDelays: Array.from({ length: 60 }, () => 500),
      metadata: { angle, filename: 'wide.mp4' },
      headers,
      onProgress: (sent) => onProgress?.(sent),
      onError: reject,
      onSuccess: () => resolve(running.url!.split('/').at(-1)!),
    });
    running.start();
  });

const film = async (id: string) =>
  (await database.pool.query('SELECT state, attempts FROM film WHERE id = $1', [id])).rows[0];
const isReady = (id: string) =>
  expect.poll(async () => (await film(id)).state, { timeout: 150_000, interval: 200 }).toBe('ready');

test('an upload outlives a cut line and a killed server, byte for byte', { timeout: 300_000 }, async () => {
  const sent = await largeFilm(at('ordinary.mp4'), 40_000_000);
  const line = await cutLine(9_000_000);
  let killed: Promise<void> | undefined;
  let restarted = 0;
  const id = await upload(sent, {
    port: line.port,
    angle: 'Wide',
    onProgress: (bytes) => {
      if (bytes < 20_000_000 || killed) return;
      killed = kill().then(() => start());
      void killed.then(() => {
        restarted += 1;
      });
    },
  });
  await killed;
  line.server.close();
  expect([line.cuts(), restarted]).toEqual([1, 1]);
  await isReady(id);
  const kept = await readFile(path.join(store, game.conferenceId, id));
  expect(kept.length).toBe(sent.length);
  expect(kept.equals(sent)).toBe(true);
  // One film, begun once.
  const { rows } = await database.pool.query('SELECT id FROM film WHERE conference_id = $1', [
    game.conferenceId,
  ]);
  expect(rows).toEqual([{ id }]);
});

test('a film that a killed process had in hand is looked at by the next', { timeout: 300_000 }, async () => {
  // So that there is time to kill it: an ffmpeg that takes its time to begin.
  const slow = await folderInRun('slow');
  await writeFile(
    path.join(slow, 'ffmpeg'),
    `#!/bin/sh\ntouch ${slow}/begun\nsleep 5\nexec /usr/bin/ffmpeg "$@"\n`,
    { mode: 0o755 },
  );
  await kill();
  await start({ PATH: `${slow}:${process.env.PATH}` });
  const sent = await readFile(at('camera.mov'));
  const id = await upload(sent, { port, angle: 'End zone' });
  // It was looked at, and is being made.
  await expect.poll(() => readdir(slow), { timeout: 60_000 }).toContain('begun');
  expect(await film(id)).toMatchObject({ state: 'waiting', attempts: 1 });
  await kill();
  await start();
  await database.pool.query('UPDATE film SET in_hand_until = now() WHERE id = $1', [id]);
  await isReady(id);
  expect(await film(id)).toMatchObject({ state: 'ready', attempts: 2 });
  const folder = path.join(store, game.conferenceId);
  const kept = (await readdir(folder)).filter((name) => name.startsWith(id) && !name.endsWith('.part'));
  expect(kept.sort()).toEqual([`${id}.frames`, `${id}.mp4`]);
  expect(await picturesOf(path.join(folder, `${id}.mp4`))).toBe(await picturesOf(at('camera.mov')));
});

test('an upload of which the last byte came just before a kill waits after the next start', {
  timeout: 300_000,
}, async () => {
  const sent = await readFile(at('silent.mp4'));
  await kill();
  const { rows } = await database.pool.query<{ id: string }>(
    `INSERT INTO film (conference_id, game_id, angle, source, state, bytes, made_by)
     VALUES ($1, $2, 'Late', 'upload', 'arriving', $3, $4) RETURNING id`,
    [game.conferenceId, game.gameId, sent.length, game.coordinatorId],
  );
  await writeFile(path.join(store, game.conferenceId, rows[0]!.id), sent);
  await start();
  await isReady(rows[0]!.id);
});
