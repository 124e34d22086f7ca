// @module-tag rest
import { createHash } from 'node:crypto';
import { chmod, mkdir, readdir, readFile, utimes, writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, afterEach, beforeAll, expect, test } from 'vitest';
import { filmsBeside } from '../../server/backup/films-beside.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { mostBytes } from '../../server/narration/recording.ts';
import { tidyRecordings } from '../../server/narration/tidying.ts';
import { erasePerson } from '../../server/privacy/erasure.ts';
import { frame, type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { filmedProgram, filmOfGame } from '../reels/filmed-program.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { heardAt, makeSounds, run } from './sounds.ts';

// What people speak over plays, sent as files that ffmpeg made and read back by ffmpeg.

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let colleague: { agent: SignedInAgent; personId: string };
let sound: (name: string) => Promise<Buffer>;
let folder: string;
let program: string;
let play: string;
const usual = process.env.PATH;

beforeAll(async () => {
  const data = await folderInRun('narration');
  sound = await makeSounds(data);
  database = await testDatabase();
  app = await testApp(database, { DATA_DIR: data });
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, { conferenceId: season.conferenceId, personId: season.coordinatorId });
  colleague = await personSignedIn(app, season.conferenceId, ['coordinator']);
  await filmOfGame(database.pool, season, data);
  program = `/api/training-programs/${await filmedProgram(coordinator, season)}`;
  play = `${program}/plays/${season.playIds[0]}`;
  folder = path.join(data, 'films', season.conferenceId, 'narration');
}, 180_000);
afterEach(() => {
  process.env.PATH = usual;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const send = (body: Buffer, { to = play, type = 'audio/wav', as = coordinator } = {}) =>
  as.post(`${to}/recordings`).type(type).send(body);
const sent = async (name: string, by?: Parameters<typeof send>[1]) =>
  (await send(await sound(name), by).expect(201)).body as { id: string; seconds: number; address: string };
const cutNow = async (of = play) => (await coordinator.get(`${of}/cut`).expect(200)).body;
/** The play's cut as it is, with that voice. */
async function withVoice(voice: object | null, { of = play, as = coordinator } = {}) {
  const { version, cut } = await cutNow(of);
  const films = (await coordinator.get(`/api/games/${season.gameId}/films`)).body;
  const { body: frames } = await coordinator.get(
    `/api/games/${season.gameId}/films/${films[0].id}/frames?from=0&to=100`,
  );
  const shot = {
    filmId: films[0].id,
    timebase: frames.timebase,
    from: frames.ticks[60],
    to: frames.ticks[150],
  };
  const shots = version === 0 ? [shot] : cut.shots;
  return as.put(`${of}/cut`).send({ cut: { ...cut, shots, voice }, version });
}
const recorded = (recordingId: string) => ({ kind: 'recorded', recordingId });

test('sounds of every kind become one form that tells nobody, with the tone where it was', {
  timeout: 120_000,
}, async () => {
  for (const [name, type] of [
    ['burst.wav', 'audio/wav'],
    ['burst.mp3', 'audio/mpeg'],
    ['burst.m4a', 'audio/mp4'],
    ['burst.ogg', 'audio/ogg'],
    ['burst.webm', 'audio/webm;codecs=opus'],
    ['burst.flac', 'audio/flac'],
    ['covered.mp3', 'application/octet-stream'],
  ] as const) {
    const { body } = await send(await sound(name), { type }).expect(201);
    const file = path.join(folder, `${body.id}.flac`);
    const bytes = await readFile(file);
    expect([name, body.bytes, body.sha256]).toEqual([
      name,
      bytes.length,
      createHash('sha256').update(bytes).digest('hex'),
    ]);
    const { stdout } = await run('ffprobe', [
      '-v',
      'error',
      '-show_streams',
      '-show_format',
      '-of',
      'json',
      file,
    ]);
    const { streams, format } = JSON.parse(stdout);
    expect([
      name,
      streams.length,
      streams[0].codec_name,
      streams[0].sample_rate,
      streams[0].channels,
    ]).toEqual([...[name, 1, 'flac', '48000', 1]]);
    expect([name, format.tags ?? {}, streams[0].tags ?? {}]).toEqual([name, {}, {}]);
    expect(bytes.includes('Harrowgate')).toBe(false);
    const { first, seconds } = await heardAt(file);
    expect([name, seconds]).toEqual([name, body.seconds]);
    // Those that code ahead are a millisecond or two off by themselves.
    expect([name, Math.abs(first - 1) < 0.003, Math.abs(seconds - 3) < 0.06]).toEqual([name, true, true]);
    const heard = await coordinator.get(body.address).set('range', 'bytes=0-3').expect(206);
    expect([heard.headers['content-type'], heard.body.toString()]).toEqual(['audio/flac', 'fLaC']);
  }
  expect((await readdir(folder)).filter((name) => name.endsWith('.part'))).toEqual([]);
});

test('what is no narration is refused in a sentence, and leaves nothing', { timeout: 120_000 }, async () => {
  const before = await readdir(folder);
  const refused = async (body: Buffer, status: number, words: RegExp, type = 'audio/wav') => {
    const answer = await send(body, { type });
    expect([answer.status, answer.body.detail]).toEqual([status, expect.stringMatching(words)]);
  };
  await refused(
    Buffer.from('no sound at all, only words'),
    400,
    /^This is not a sound that can be read: WAV/,
  );
  await refused(Buffer.alloc(0), 400, /^The file is empty/);
  await refused(await sound('pictures.mp4'), 400, /^This is not a sound/);
  await refused(await sound('long.wav'), 400, /^The recording runs 10:20; .* 10:00 at most/);
  const minute = await sound('minute.flac');
  await refused(minute.subarray(0, minute.length / 2), 400, /^The sound breaks off after 0:\d\d of 1:00/);
  // A list of other files: nothing of the server may be read by it.
  await refused(Buffer.from('#EXTM3U\n#EXTINF:10,\n/etc/passwd\n'), 400, /^This is not a sound/);
  await refused(Buffer.from("ffconcat version 1.0\nfile '/etc/passwd'\n"), 400, /^This is not a sound/);
  await refused(Buffer.alloc(mostBytes + 1), 413, /^The file is larger than 64 MB/);
  await send(await sound('burst.wav'), { type: 'text/html' }).expect(415);
  await coordinator.post(`${play}/recordings`).expect(415);
  await send(await sound('burst.wav'), { to: `${program}/plays/${season.playIds[7]}` }).expect(404);
  expect(await readdir(folder)).toEqual(before);
});

test('what a browser ended by itself at ten minutes is kept; its last tenths are no reason to refuse it', {
  timeout: 120_000,
}, async () => {
  for (const [seconds, status] of [
    ['600.3', 201],
    ['602.5', 400],
  ] as const) {
    const file = path.join(await folderInRun('narration'), `${seconds}.flac`);
    await run('ffmpeg', ['-v', 'error', '-y', '-f', 'lavfi', '-i', 'anullsrc=r=8000', '-t', seconds, file]);
    const { body } = await send(await readFile(file), { type: 'audio/flac' }).expect(status);
    if (status === 201) expect(body.seconds).toBeCloseTo(600.3, 1);
    else expect(body.detail).toMatch(/^The recording runs 10:0\d; .* 10:00 at most/);
  }
});

test('a program that is removed while its recording is read says so, and no file stays', async () => {
  const { body } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send(frame)
    .expect(201);
  const other = body.id as string;
  await coordinator
    .post(`/api/training-programs/${other}/plays`)
    .send({ playId: season.playIds[0], dutyKey: 'everybodys-duty', position: 'umpire', showing: 'bad' })
    .expect(201);
  await app.narration.files.prepare(season.conferenceId);
  const before = await readdir(folder);
  let goOn = () => {};
  const held = app.narration.oneAtATime(
    () =>
      new Promise<void>((resolve) => {
        goOn = resolve;
      }),
  );
  const sending = send(await sound('burst.wav'), {
    to: `/api/training-programs/${other}/plays/${season.playIds[0]}`,
  }).then((answer) => answer);
  try {
    await expect.poll(async () => (await readdir(folder)).some((name) => name.endsWith('.part'))).toBe(true);
    await coordinator.delete(`/api/training-programs/${other}`).expect(204);
  } finally {
    goOn();
    await held;
  }
  const answer = await sending;
  expect([answer.status, answer.body.detail]).toEqual([404, expect.stringContaining('training program')]);
  expect(await readdir(folder)).toEqual(before);
});

test('without ffmpeg nothing is kept, and a sentence says why', async () => {
  const own = path.join(folder, 'tools');
  await mkdir(own);
  process.env.PATH = own;
  const { body } = await send(await sound('burst.wav')).expect(503);
  expect(body.detail).toMatch(/^ffmpeg is not installed on this server, so no recording can be kept/);
  // One that hangs on to everything it is given is ended, and what it wrote is gone.
  for (const tool of ['ffprobe', 'ffmpeg']) {
    await writeFile(path.join(own, tool), '#!/bin/sh\nexit 1\n');
    await chmod(path.join(own, tool), 0o755);
  }
  await send(await sound('burst.wav')).expect(400);
});

test('a cut names a recording of its own play, and no other', async () => {
  const { id, seconds } = await sent('burst.wav');
  const other = await sent('burst.wav', { to: `${program}/plays/${season.playIds[4]}` });
  for (const strange of [other.id, season.gameId]) {
    const { body } =
      (await withVoice(recorded(strange))).status === 400 ? await withVoice(recorded(strange)) : { body: {} };
    expect(body.errors).toEqual([
      { field: 'cut.voice.recordingId', message: expect.stringMatching(/^names no recording of this play/) },
    ]);
  }
  const kept = await withVoice(recorded(id));
  expect([kept.status, kept.body.cut.voice]).toEqual([200, recorded(id)]);
  expect(kept.body.recordings.find((one: { id: string }) => one.id === id)).toMatchObject({ seconds });
  const elsewhere = await taughtSeason(database.pool);
  const stranger = await inSessionOf(app, {
    conferenceId: elsewhere.conferenceId,
    personId: elsewhere.coordinatorId,
  });
  await stranger.get(`/training/programs/${program.split('/').at(-1)}/recordings/${id}.flac`).expect(404);
  await send(await sound('burst.wav'), { as: stranger }).expect(404);
  for (const personId of [season.observerId, season.crew.umpire!]) {
    const person = await inSessionOf(app, { conferenceId: season.conferenceId, personId });
    await person.get(`/training/programs/${program.split('/').at(-1)}/recordings/${id}.flac`).expect(403);
    await send(await sound('burst.wav'), { as: person }).expect(403);
  }
});

test('two people record one play: the later is told, and both recordings are there', async () => {
  const { version, cut } = await cutNow();
  const theirs = await sent('burst.mp3', { as: colleague.agent });
  await colleague.agent
    .put(`${play}/cut`)
    .send({ cut: { ...cut, voice: recorded(theirs.id) }, version })
    .expect(200);
  const mine = await sent('burst.wav');
  const refused = await coordinator
    .put(`${play}/cut`)
    .send({ cut: { ...cut, voice: recorded(mine.id) }, version })
    .expect(409);
  expect(refused.body.detail).toMatch(/cut this play otherwise/);
  const now = await cutNow();
  expect(now.cut.voice).toEqual(recorded(theirs.id));
  const ids = now.recordings.map(({ id }: { id: string }) => id);
  expect(ids.slice(0, 2)).toEqual([mine.id, theirs.id]);
  await coordinator
    .put(`${play}/cut`)
    .send({ cut: { ...cut, voice: recorded(mine.id) }, version: now.version })
    .expect(200);
});

const tidy = () => tidyRecordings(database.pool, app.narration.files);
const later = (days: number) =>
  database.pool.query('UPDATE narration SET let_go_at = let_go_at - make_interval(days => $1)', [days]);
const there = async (id: string) => {
  const { rows } = await database.pool.query('SELECT FROM narration WHERE id = $1', [id]);
  return [rows.length, (await readdir(folder)).includes(`${id}.flac`)];
};
async function filesOfYesterday() {
  const yesterday = new Date(Date.now() - 86_400_000);
  for (const name of await readdir(folder)) await utimes(path.join(folder, name), yesterday, yesterday);
}

test('an edition keeps the recording it was made with; what nothing names goes after a week', {
  timeout: 120_000,
}, async () => {
  const first = await sent('burst.wav');
  expect((await withVoice(recorded(first.id))).status).toBe(200);
  const { version } = (await coordinator.get(program)).body;
  const released = await coordinator
    .post(`${program}/editions`)
    .send({ version, note: 'With a voice.', untoldBecause: 'They were told by telephone.' })
    .expect(201);
  const second = await sent('burst.mp3');
  expect((await withVoice(recorded(second.id))).status).toBe(200);
  const third = await sent('burst.ogg');
  expect((await withVoice(recorded(third.id))).status).toBe(200);
  // By somebody else: what one person changes in one sitting is taken back at once.
  expect((await withVoice(null, { as: colleague.agent })).status).toBe(200);
  await filesOfYesterday();
  await tidy();
  await later(6);
  await tidy();
  // Six days later all are there; taking the third back is the program's last change.
  for (const { id } of [first, second, third]) expect(await there(id)).toEqual([1, true]);
  await later(2);
  await tidy();
  await tidy();
  expect(await there(first.id)).toEqual([1, true]);
  expect(await there(second.id)).toEqual([0, false]);
  expect(await there(third.id)).toEqual([1, true]);
  const { rows } = await database.pool.query<{ cuts: { number: number; cut: { voice: unknown } }[] }>(
    'SELECT cuts FROM training_edition WHERE conference_id = $1 AND program_id = $2 AND number = $3',
    [season.conferenceId, program.split('/').at(-1), released.body.number],
  );
  expect(rows[0]!.cuts.find(({ number }) => number === 1)!.cut.voice).toEqual(recorded(first.id));
  expect((await withVoice(recorded(second.id))).status).toBe(400);
  expect((await withVoice(recorded(third.id))).status).toBe(200);
  // Named again, it is not let go of.
  await later(30);
  await tidy();
  expect(await there(third.id)).toEqual([1, true]);
});

test('recordings count as what films take, and a backup says that they lie beside it', async () => {
  const settings = '/api/film-settings';
  const own = await database.pool.query<{ bytes: number }>(
    'SELECT sum(bytes)::float8 AS bytes FROM narration WHERE conference_id = $1',
    [season.conferenceId],
  );
  expect(own.rows[0]!.bytes).toBeGreaterThan(0);
  const { body: before } = await coordinator.get(settings).expect(200);
  await coordinator
    .put(settings)
    .send({ ...before, space: 1 })
    .expect(200);
  const long = await sound('minute.flac');
  const refused = await send(long);
  expect([refused.status, refused.body.detail]).toEqual([
    413,
    expect.stringMatching(/no room left for this one/),
  ]);
  await coordinator.put(settings).send(before).expect(200);
  const words = await filmsBeside(database.pool, { DATA_DIR: '/data' } as never);
  expect(words).toMatch(/^Films are not in it: 1 film and \d+ recorded narrations lie in \/data\/films /);
});

test('a recording goes with its program, and with its speaker’s data', { timeout: 120_000 }, async () => {
  const { body } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send({ ...frame, title: 'Another' })
    .expect(201);
  const other = `/api/training-programs/${body.id}`;
  await coordinator
    .post(`${other}/plays`)
    .send({ playId: season.playIds[8], dutyKey: 'everybodys-duty', position: 'side judge', showing: 'good' })
    .expect(201);
  const gone = await sent('burst.wav', { to: `${other}/plays/${season.playIds[8]}` });
  await coordinator.delete(other).expect(204);
  const theirs = await sent('burst.wav', { as: colleague.agent });
  expect((await withVoice(recorded(theirs.id))).status).toBe(200);
  const mine = await sent('burst.wav');
  await filesOfYesterday();
  // Before that they may have it.
  const zip = path.join(path.dirname(folder), 'data.zip');
  const given = await colleague.agent
    .get('/my/data.zip')
    .buffer(true)
    .parse((response, done) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('end', () => done(null, Buffer.concat(chunks)));
    })
    .expect(200);
  await writeFile(zip, given.body);
  const { stdout: listed } = await run('/usr/bin/python3', ['-m', 'zipfile', '-l', zip]);
  expect(listed).toContain(`voice/${theirs.id}.flac`);
  expect(listed).not.toContain(mine.id);
  await inTransaction(database.pool, (client) =>
    erasePerson(
      client,
      { conferenceId: season.conferenceId, personId: season.coordinatorId },
      colleague.personId,
      'They asked.',
    ),
  );
  await tidy();
  expect(await there(gone.id)).toEqual([0, false]);
  expect(await there(theirs.id)).toEqual([0, false]);
  expect(await there(mine.id)).toEqual([1, true]);
  // The cut names what is gone; it can be taken off.
  expect((await cutNow()).cut.voice).toEqual(recorded(theirs.id));
  expect((await withVoice(null)).status).toBe(200);
});
