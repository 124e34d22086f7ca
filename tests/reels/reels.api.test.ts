// @module-tag rest
import { execFile } from 'node:child_process';
import { copyFile, readdir, rm } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { WebVTTParser } from 'webvtt-parser';
import { tidyReels } from '../../server/reels/tidying.ts';
import { frame, type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { filmedProgram, filmOfGame } from './filmed-program.ts';

const run = promisify(execFile);
let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let filmId: string;
let data: string;
let address: string;
let pages: string;

beforeAll(async () => {
  data = await folderInRun('reels');
  database = await testDatabase();
  app = await testApp(database, { DATA_DIR: data });
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, { conferenceId: season.conferenceId, personId: season.coordinatorId });
  filmId = await filmOfGame(database.pool, season, data);
  const programId = await filmedProgram(coordinator, season);
  address = `/api/training-programs/${programId}`;
  pages = `/training/programs/${programId}/reels`;
}, 180_000);
afterAll(async () => {
  await app.close();
  await database.drop();
});

const made = async (asked: object) => {
  const { body } = await coordinator.post(`${address}/reels`).send(asked).expect(201);
  await app.reels.idle();
  return (await coordinator.get(`${address}/reels/${body.id}`).expect(200)).body;
};
const fileOf = (id: string) => path.join(data, 'reels', season.conferenceId, `${id}.mp4`);

test('a reel of an edition has its plays, its stop for the question and its captions where it says', {
  timeout: 400_000,
}, async () => {
  const reel = await made({ edition: 1 });
  expect(reel).toMatchObject({ state: 'ready', failed: null, edition: 1 });
  expect(reel.lacking).toEqual([{ number: 3, why: 'Nobody has marked where it is in the film.' }]);
  const { facts } = reel;
  expect(facts.chapters.map(({ title }: { title: string }) => title)).toEqual([
    ...['Opening', 'Play 1, Eyes', 'Play 2, Eyes', 'Play 3, Eyes', 'Closing'],
  ]);
  // 3 s are 90 frames of 1001/30000 s.
  expect(facts.plays.slice(0, 2).map(({ frames }: { frames: number }) => frames)).toEqual([90, 90]);
  expect(facts.questions).toHaveLength(1);
  expect(facts.hasSound).toBe(false);

  const shown = await run('/usr/bin/python3', [
    ...[path.join(import.meta.dirname, 'read-frames.py'), fileOf(reel.id), '0', '0', '1280', '720'],
  ]);
  const { frames } = JSON.parse(shown.stdout) as { frames: number[] };
  expect(frames).toHaveLength(facts.frames);
  // The snap at 3 s, one second before it: frame 60 of the film, the first at or after 2 s.
  const first = facts.plays[0].frame;
  expect(frames.slice(first, first + 90)).toEqual(Array.from({ length: 90 }, (_, at) => 60 + at));
  const second = facts.plays[1].frame;
  expect(frames.slice(second, second + 3)).toEqual([240, 241, 242]);
  // Cards show no number, the one before the stop among them.
  expect(frames[facts.questions[0].frame - 1]).toBe(-1);

  const { text } = await coordinator.get(`${address}/reels/${reel.id}/captions.vtt`).expect(200);
  const { cues, errors } = new WebVTTParser().parse(text, 'captions');
  expect(errors).toEqual([]);
  expect(cues.map((cue) => cue.text)).toEqual(Array(3).fill('Watch the players.'));
  expect(cues[1]!.startTime).toBeCloseTo((second * 1001) / 30_000, 3);

  const part = await coordinator.get(reel.file).set('range', 'bytes=0-99').expect(206);
  expect(part.headers['content-type']).toBe('video/mp4');
  const words = `${(await run('strings', [fileOf(reel.id)])).stdout}`;
  expect(words).not.toContain('wide');
});

test('a preview and the edition share their clips, and with captions burned in only those change', {
  timeout: 400_000,
}, async () => {
  const clips = () => readdir(path.join(data, 'reels', season.conferenceId, 'clips'));
  const before = await clips();
  const preview = await made({});
  expect(preview).toMatchObject({ state: 'ready', edition: null });
  // The title says that it is a preview; all else was there.
  expect(await clips()).toHaveLength(before.length + 1);
  const burned = await made({ burnedIn: true });
  expect(burned.facts.frames).toBe(preview.facts.frames);
  expect(await clips()).toHaveLength(before.length + 3);
  const brightest = async (id: string) => {
    const middle = ((preview.facts.plays[0].frame + 10) * 1001) / 30_000;
    const { stdout } = await run(
      'ffmpeg',
      [
        ...['-v', 'error', '-ss', middle.toFixed(3), '-i', fileOf(id), '-frames:v', '1'],
        ...['-vf', 'crop=600:40:340:640,format=gray', '-f', 'rawvideo', '-'],
      ],
      { encoding: 'buffer' },
    );
    return stdout;
  };
  expect((await brightest(burned.id)).equals(await brightest(preview.id))).toBe(false);
  await coordinator.delete(`${address}/reels/${burned.id}`).expect(204);
  await coordinator.get(`${address}/reels/${burned.id}`).expect(404);
  expect(await readdir(path.dirname(fileOf(burned.id)))).not.toContain(`${burned.id}.mp4`);
});

test('nobody but a coordinator of the conference learns of a reel', async () => {
  const [reel] = (await coordinator.get(`${address}/reels`).expect(200)).body;
  for (const personId of [season.observerId, season.crew.umpire!]) {
    const other = await inSessionOf(app, { conferenceId: season.conferenceId, personId });
    await other.get(reel.file).expect(403);
    await other.get(`${address}/reels/${reel.id}`).expect(403);
    await other.get(pages).expect(403);
  }
  const elsewhere = await taughtSeason(database.pool);
  const stranger = await inSessionOf(app, {
    conferenceId: elsewhere.conferenceId,
    personId: elsewhere.coordinatorId,
  });
  await stranger.get(reel.file).expect(404);
  await stranger.post(`${address}/reels`).send({}).expect(404);
});

test('a reel is asked for, watched and removed on its pages', async () => {
  const asked = await coordinator.post(pages).type('form').send({ edition: '1' }).expect(303);
  await app.reels.idle();
  const { text } = await coordinator.get(asked.headers.location!).expect(200);
  for (const words of ['Reel of edition 1', 'Play 3: Nobody has marked', 'Download the reel', 'Play 2, Eyes'])
    expect(text).toContain(words);
  const list = await coordinator.get(pages).expect(200);
  expect(list.text).toContain('3 plays, 1 without film');
  await coordinator.post(`${asked.headers.location}/remove`).type('form').send({}).expect(303);
  await coordinator.get(asked.headers.location!).expect(404);
});

test('a film that is gone is told in a sentence, and what is wanted is not lost', {
  timeout: 120_000,
}, async () => {
  const { body } = await coordinator.post(`${address}/reels`).send({ edition: 1 });
  await app.reels.idle();
  const ready = (await coordinator.get(`${address}/reels/${body.id}`)).body;
  const film = path.join(data, 'films', season.conferenceId, filmId);
  await rm(film);
  expect(await made({ edition: 1 })).toMatchObject({
    state: 'failed',
    failed: expect.stringMatching(
      /^The file of the film of plays 1 and 2 is no longer on the server\. Bring/,
    ),
  });
  // What was made stays.
  await coordinator.get(ready.file).expect(200);
  await copyFile(path.join(data, 'numbered.mp4'), film);
  await rm(fileOf(ready.id));
  await coordinator
    .get(ready.file)
    .expect(404)
    .expect(/no longer on the server/);
});

test('a reel’s file goes with its program', async () => {
  const { body } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send({ ...frame, title: 'Another' })
    .expect(201);
  const other = `/api/training-programs/${body.id}`;
  await coordinator
    .post(`${other}/reels`)
    .send({})
    .expect(409)
    .expect(/no play in this program/);
  const { body: put } = await coordinator
    .post(`${other}/plays`)
    .send({ playId: season.playIds[8], dutyKey: 'everybodys-duty', position: 'side judge', showing: 'good' })
    .expect(201);
  expect(put.plays).toHaveLength(1);
  const { body: reel } = await coordinator.post(`${other}/reels`).send({}).expect(201);
  await app.reels.idle();
  await run('touch', ['-d', '2 hours ago', fileOf(reel.id)]);
  await coordinator.delete(other).expect(204);
  await tidyReels(database.pool, app.reels.files);
  expect(await readdir(path.dirname(fileOf(reel.id)))).not.toContain(`${reel.id}.mp4`);
});
