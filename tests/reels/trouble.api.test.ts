// @module-tag rest
import { chmod, mkdir, symlink, writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, afterEach, beforeAll, expect, test } from 'vitest';
import { frame, type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';

// What passes while a reel is made: it waits with a sentence, and goes on by itself.

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let programId: string;
let folder: string;
const usual = process.env.PATH;

beforeAll(async () => {
  folder = await folderInRun('reels');
  database = await testDatabase();
  app = await testApp(database, { DATA_DIR: folder });
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, { conferenceId: season.conferenceId, personId: season.coordinatorId });
  const { body } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send(frame)
    .expect(201);
  programId = body.id;
}, 180_000);
afterEach(() => {
  process.env.PATH = usual;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

/** Looks for programs in a folder of its own: the usual ffprobe, and this ffmpeg. */
async function withFfmpeg(name: string, script: string): Promise<void> {
  const own = path.join(folder, name);
  await mkdir(own);
  await symlink('/usr/bin/ffprobe', path.join(own, 'ffprobe'));
  await writeFile(path.join(own, 'ffmpeg'), `#!/bin/bash\n${script}\n`);
  await chmod(path.join(own, 'ffmpeg'), 0o755);
  process.env.PATH = own;
}

/** A reel of one card, asked for. */
async function asked(heading: string): Promise<string> {
  const card = { kind: 'title', above: '', heading, lines: [], foot: '' };
  const plan = {
    ...{ title: heading, edition: null, plays: [] },
    segments: [{ kind: 'card', card, frames: 30, chapter: 'Opening', play: null, stops: false }],
  };
  const { rows } = await database.pool.query<{ id: string }>(
    `INSERT INTO reel (conference_id, program_id, plan, state) VALUES ($1, $2, $3, 'waiting') RETURNING id`,
    [season.conferenceId, programId, JSON.stringify(plan)],
  );
  return rows[0]!.id;
}
async function made(id: string) {
  app.reels.wake();
  await app.reels.idle();
  const { body } = await coordinator.get(`/api/training-programs/${programId}/reels/${id}`).expect(200);
  return body;
}
async function fiveMinutesLater(id: string) {
  await database.pool.query(
    `UPDATE reel SET in_hand_until = in_hand_until - interval '5 minutes' WHERE id = $1`,
    [id],
  );
}

test('on a full disk a reel waits, and goes on once there is room', { timeout: 300_000 }, async () => {
  // Linux's own full device, to which ffmpeg itself writes the clip.
  await withFfmpeg(
    'full',
    `if [[ "$*" == *-progress* ]]; then set -- "\${@:1:$#-1}" file:/dev/full; fi; exec /usr/bin/ffmpeg "$@"`,
  );
  const id = await asked('Full');
  expect(await made(id)).toMatchObject({
    state: 'waiting',
    failed: null,
    trouble: expect.stringMatching(/^The disk of the server is full\. .* tried again every five minutes/),
  });
  process.env.PATH = usual;
  // Not before its time.
  expect((await made(id)).state).toBe('waiting');
  await fiveMinutesLater(id);
  expect(await made(id)).toMatchObject({ state: 'ready', trouble: null, facts: { frames: 30 } });
});

test('where ffmpeg goes while a reel is made, it waits for it, and goes on', {
  timeout: 300_000,
}, async () => {
  await withFfmpeg('gone', `/bin/rm "$0"; exec /usr/bin/ffmpeg "$@"`);
  const id = await asked('Gone');
  expect(await made(id)).toMatchObject({
    state: 'waiting',
    failed: null,
    trouble: expect.stringMatching(/^ffmpeg is no longer on the server\. .* install ffmpeg/),
  });
  await fiveMinutesLater(id);
  // Nothing can be made yet.
  expect((await made(id)).state).toBe('waiting');
  process.env.PATH = usual;
  expect(await made(id)).toMatchObject({ state: 'ready', trouble: null, facts: { frames: 30 } });
});
