// @module-tag rest
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { askForReel } from '../../server/reels/reel-store.ts';
import { type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { ownPort } from '../support/own-port.ts';
import { program } from '../support/program.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { filmedProgram, filmOfGame } from './filmed-program.ts';

// The program itself, killed without warning while it makes a reel.

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let programId: string;
let data: string;
let slow: string;
let child: ChildProcess;

beforeAll(async () => {
  data = await folderInRun('reels');
  database = await testDatabase();
  app = await testApp(database, { DATA_DIR: data });
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, { conferenceId: season.conferenceId, personId: season.coordinatorId });
  await filmOfGame(database.pool, season, data);
  programId = await filmedProgram(coordinator, season);
  // An ffmpeg that notes each clip, and stands still at the third and at the sixth, so that it can be killed there.
  slow = await folderInRun('slow');
  await writeFile(
    path.join(slow, 'ffmpeg'),
    `#!/bin/sh
case "$*" in *-progress*)
  echo clip >> ${slow}/begun
  case "$(wc -l < ${slow}/begun)" in 3|6)
    touch ${slow}/held
    while [ -e ${slow}/held ]; do sleep 0.2; done
    exit 1
  esac
esac
exec /usr/bin/ffmpeg "$@"
`,
    { mode: 0o755 },
  );
}, 180_000);
afterAll(async () => {
  if (child) await kill();
  await app.close();
  await database.drop();
});

async function start(): Promise<void> {
  const port = await ownPort();
  child = spawn(process.execPath, program('server/start.ts'), {
    env: {
      ...process.env,
      ...{ DATABASE_URL: database.url, PORT: String(port), DEMO: 'off', DATA_DIR: data, LOG_LEVEL: 'warn' },
      PATH: `${slow}:${process.env.PATH}`,
    },
    stdio: 'ignore',
  });
}
async function kill(): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = once(child, 'close');
  child.kill('SIGKILL');
  await gone;
}

const folder = () => path.join(data, 'reels', season.conferenceId);
/** Finished clips, each with the number that the disk has for its file: one that is made again has another. */
async function finished(): Promise<Map<string, number>> {
  const clips = path.join(folder(), 'clips');
  const names = (await readdir(clips).catch(() => [])).filter((name) => name.endsWith('.mov'));
  return new Map(
    await Promise.all(
      names.map(async (name): Promise<[string, number]> => [name, (await stat(path.join(clips, name))).ino]),
    ),
  );
}
const begun = async () => (await readFile(path.join(slow, 'begun'), 'utf8')).split('\n').length - 1;
const reelOf = async (id: string) =>
  (await database.pool.query('SELECT state, facts, attempts FROM reel WHERE id = $1', [id])).rows[0];

/** Kills it while a clip is being made. @returns those that were finished */
async function killAtWork(): Promise<Map<string, number>> {
  await expect.poll(() => readdir(slow), { timeout: 200_000, interval: 100 }).toContain('held');
  await kill();
  await rm(path.join(slow, 'held'));
  return finished();
}
/** As time passes that nobody renews what it had in hand. */
const runOut = (id: string) =>
  database.pool.query('UPDATE reel SET in_hand_until = now() WHERE id = $1', [id]);

test('a reel whose maker is killed twice is finished from the clips that were there, byte for byte', {
  timeout: 900_000,
}, async () => {
  const acting = { conferenceId: season.conferenceId, personId: season.coordinatorId };
  const id = await askForReel(database.pool, acting, programId, { edition: 1, burnedIn: true });
  await start();
  const first = await killAtWork();
  expect((await reelOf(id)).state).toBe('waiting');
  await runOut(id);
  await start();
  const second = await killAtWork();
  expect((await reelOf(id)).state).toBe('waiting');
  await runOut(id);
  await start();
  await expect
    .poll(async () => (await reelOf(id)).state, { timeout: 600_000, interval: 200 })
    .not.toBe('waiting');
  await kill();
  const { state, facts } = await reelOf(id);
  expect(state).toBe('ready');
  const all = await finished();
  for (const [name, file] of [...first, ...second]) expect(all.get(name)).toBe(file);
  expect([first.size, second.size]).toEqual([2, 4]);
  expect(all.size).toBeGreaterThan(4);
  // Only the clip that was being made at each kill was begun again.
  expect(await begun()).toBe(all.size + 2);

  // Undisturbed, by another process, from nothing.
  const file = path.join(folder(), `${id}.mp4`);
  const kept = await readFile(file);
  await rm(path.join(folder(), 'clips'), { recursive: true });
  const { body } = await coordinator
    .post(`/api/training-programs/${programId}/reels`)
    .send({ edition: 1, burnedIn: true })
    .expect(201);
  await app.reels.idle();
  expect(await reelOf(body.id)).toMatchObject({ state: 'ready', facts });
  expect((await readFile(path.join(folder(), `${body.id}.mp4`))).equals(kept)).toBe(true);
  expect([...(await finished()).keys()].sort()).toEqual([...all.keys()].sort());
});
