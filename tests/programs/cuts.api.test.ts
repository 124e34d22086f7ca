// @module-tag rest
import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { bringFilm } from '../films/bring.ts';
import { makeFilms } from '../films/made-films.ts';
import { oneGame } from '../reports/one-game.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { frame, type TaughtSeason, taughtSeason } from './taught-season.ts';

// How plays are cut, over the API. What is a frame is ffprobe's to say, asked here by itself.

let database: TestDatabase;
let app: FastifyInstance;
let at: (name: string) => string;
let store: string;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let colleague: SignedInAgent;
beforeAll(async () => {
  at = await makeFilms(await folderInRun('films'));
  store = await folderInRun('store');
  database = await testDatabase();
  app = await testApp(database, { FILM_STORE: store });
}, 120_000);
beforeEach(async () => {
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, {
    conferenceId: season.conferenceId,
    personId: season.coordinatorId,
  });
  colleague = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

/** A program with one play, whose snap is at 3 seconds of an uploaded film. */
async function programOnFilm(file = 'ordinary.mp4') {
  const film = await bringFilm(app, coordinator, season.gameId, at(file), 'Sideline');
  const playId = season.playIds[0]!;
  await coordinator
    .put(`/api/games/${season.gameId}/films/${film.id}/marks/${playId}`)
    .send({ seconds: 3 })
    .expect(204);
  const { id } = (
    await coordinator.post(`/api/seasons/${season.seasonId}/training-programs`).send(frame).expect(201)
  ).body;
  await coordinator
    .post(`/api/training-programs/${id}/plays`)
    .send({ playId, dutyKey: 'everybodys-duty', position: 'umpire', showing: 'bad' })
    .expect(201);
  const program = `/api/training-programs/${id}`;
  return { film, playId, program, cut: `${program}/plays/${playId}/cut` };
}
const framesIn = async (filmId: string, query: string) =>
  (await coordinator.get(`/api/games/${season.gameId}/films/${filmId}/frames?${query}`).expect(200)).body;
/** Presentation times of a file's frames as ffprobe decodes them, in ticks from the file's begin. */
async function framesByFfprobe(file: string) {
  const { stdout } = await promisify(execFile)('ffprobe', [
    ...['-v', 'error', '-select_streams', 'v:0', '-show_entries'],
    ...['frame=pts:stream=time_base:format=start_time', '-of', 'json', file],
  ]);
  const read = JSON.parse(stdout) as {
    frames: { pts: number }[];
    streams: { time_base: string }[];
    format: { start_time: string };
  };
  const [numerator, denominator] = read.streams[0]!.time_base.split('/').map(Number) as [number, number];
  const begin = Math.round((Number(read.format.start_time) * denominator) / numerator);
  return { timebase: { numerator, denominator }, ticks: read.frames.map(({ pts }) => pts - begin) };
}
const shotOf = (filmId: string, frames: { timebase: object; ticks: number[] }, from: number, to: number) => ({
  ...{ filmId, timebase: frames.timebase, from: frames.ticks[from], to: frames.ticks[to] },
});

test.for(['ordinary.mp4', 'uneven.mp4', 'camera.mov', 'stream.ts'])(
  'the frames of %s are those that ffprobe decodes',
  async (name) => {
    const film = await bringFilm(app, coordinator, season.gameId, at(name), 'Sideline');
    const kept = path.join(store, season.conferenceId, film.id);
    // As it came, or as it was made for browsers: that is what is served, and cut.
    const decoded = await framesByFfprobe(existsSync(kept) ? kept : `${kept}.mp4`);
    const all = await framesIn(film.id, 'from=0&to=100');
    expect(all).toMatchObject({ timebase: decoded.timebase, frames: decoded.ticks.length, first: 0 });
    expect(all.ticks).toEqual(decoded.ticks);
    // A stretch begins with the frame that is seen at its begin.
    const inSeconds = (tick: number) => (tick * decoded.timebase.numerator) / decoded.timebase.denominator;
    const some = await framesIn(film.id, 'from=1.01&to=2');
    const seen = decoded.ticks.filter((tick) => inSeconds(tick) <= 1.01).length - 1;
    expect(some.first).toBe(seen);
    expect(some.ticks).toEqual(decoded.ticks.slice(seen).filter((tick) => inSeconds(tick) < 2));
    // Kept beside the film; where that is lost, read of it again.
    await rm(`${kept}.frames`);
    expect((await framesIn(film.id, 'from=0&to=100')).ticks).toEqual(decoded.ticks);
  },
);

test('frames are asked for in stretches; what is wrong is named', async () => {
  const film = await bringFilm(app, coordinator, season.gameId, at('ordinary.mp4'), 'Sideline');
  const path = `/api/games/${season.gameId}/films/${film.id}/frames`;
  for (const [query, field] of [
    ['from=0&to=121', 'to'],
    ['from=5&to=5', 'to'],
    ['from=x&to=5', 'querystring.from'],
  ]) {
    const refused = await coordinator.get(`${path}?${query}`).expect(400);
    expect(refused.body.errors[0].field).toBe(field);
  }
  const link = await coordinator
    .post(`/api/games/${season.gameId}/films`)
    .send({ angle: 'End zone', link: 'https://film.example/a.mp4' })
    .expect(201);
  const refused = await coordinator
    .get(`/api/games/${season.gameId}/films/${link.body.id}/frames?from=0&to=5`)
    .expect(409);
  expect(refused.body.detail).toMatch(/only linked to/);
});

test('a play has a default cut around its snap, is cut, and goes back to it', async () => {
  const { film, cut: address, program } = await programOnFilm();
  const before = (await coordinator.get(address).expect(200)).body;
  expect(before).toMatchObject({ isKept: false, version: 0, lacking: null });
  expect(before.films).toMatchObject([{ id: film.id, snap: { seconds: 3, by: 'mark' }, sound: true }]);
  expect(before.cut.shots[0]).toMatchObject({ filmId: film.id, slow: 1, muted: true });
  const frames = await framesIn(film.id, 'from=0&to=100');
  const slowly = {
    ...shotOf(film.id, frames, 80, 110),
    slow: 2,
    freezes: [{ at: frames.ticks[95], seconds: 2 }],
    pointers: [{ shape: 'circle', from: frames.ticks[95], to: frames.ticks[110], x: 0.4, y: 0.5 }],
  };
  const cut = { shots: [shotOf(film.id, frames, 60, 120), slowly], questionAfter: 1 };
  const kept = (await coordinator.put(address).send({ cut, version: 0 }).expect(200)).body;
  expect(kept).toMatchObject({ isKept: true, cut: { ...cut, voice: null } });
  // 60 frames, then 30 twice and a freeze of 2 seconds, at 30000/1001 frames a second.
  expect(kept.seconds).toBeCloseTo((60 + 60) * (1001 / 30_000) + 2, 6);
  expect((await coordinator.get(address).expect(200)).body).toEqual(kept);
  // The program's history has it, and its last change can be taken back and made again.
  const now = (await coordinator.get(program).expect(200)).body;
  expect(now).toMatchObject({ lastChange: 'cut play 1', canUndo: true });
  const undone = (await coordinator.post(`${program}/undo`).send({ version: now.version }).expect(200)).body;
  expect((await coordinator.get(address)).body).toMatchObject({ isKept: false, cut: before.cut });
  await coordinator.post(`${program}/undo`).send({ version: undone.version }).expect(200);
  const again = (await coordinator.get(address)).body;
  expect(again.cut).toEqual(kept.cut);
  expect(again.version).toBeGreaterThan(kept.version);
  await coordinator.delete(`${address}?version=${kept.version}`).expect(409);
  const back = (await coordinator.delete(`${address}?version=${again.version}`).expect(200)).body;
  expect(back).toMatchObject({ isKept: false, version: 0, cut: before.cut });
  // A page left open on the earlier cut cannot be kept over what came since.
  const fresh = (await coordinator.put(address).send({ cut, version: 0 }).expect(200)).body;
  expect(fresh.version).toBeGreaterThan(again.version);
});

test('two people cut one play: the later is told, and loses nothing', async () => {
  const { film, cut: address } = await programOnFilm();
  const frames = await framesIn(film.id, 'from=0&to=100');
  const [theirs, mine] = [60, 70].map((from) => ({ shots: [shotOf(film.id, frames, from, 120)] }));
  await colleague.put(address).send({ cut: theirs, version: 0 }).expect(200);
  const refused = await coordinator.put(address).send({ cut: mine, version: 0 }).expect(409);
  expect(refused.body.detail).toMatch(/cut this play otherwise on .* theirs is not lost/);
  const now = (await coordinator.get(address)).body;
  expect(now.cut.shots[0].from).toBe(frames.ticks[60]);
  expect(now.changedBy).toMatch(/\w/);
  await coordinator.put(address).send({ cut: mine, version: now.version }).expect(200);
  // Both are in the history.
  const { rows } = await database.pool.query<{ before: { cut: unknown }; after: { cut: object } }>(
    `SELECT before, after FROM audit_entry
      WHERE conference_id = $1 AND action = 'training program: cut play 1' ORDER BY number`,
    [season.conferenceId],
  );
  expect(rows.map(({ before, after }) => [before.cut, after.cut])).toMatchObject([
    [null, theirs],
    [theirs, mine],
  ]);
});

test('what does not fit is named by its field, with the fix', async () => {
  const { film, cut: address, program, playId } = await programOnFilm();
  const frames = await framesIn(film.id, 'from=0&to=100');
  const shot = shotOf(film.id, frames, 60, 120);
  const refused = async (over: object, on = address) =>
    (
      await coordinator
        .put(on)
        .send({ cut: { shots: [{ ...shot, ...over }] }, version: 0 })
        .expect(400)
    ).body.errors[0] as { field: string; message: string };
  expect(await refused({ to: shot.from })).toMatchObject({
    field: 'body.cut.shots.0.to',
    message: expect.stringContaining('later than the in point'),
  });
  // The frames before and after are told.
  const between = await refused({ from: shot.from! + 1 });
  expect(between.field).toBe('cut.shots.0.from');
  expect(between.message).toContain(`${frames.ticks[60]} and ${frames.ticks[61]}`);
  expect(await refused({ to: frames.end + 1 })).toMatchObject({
    field: 'cut.shots.0.to',
    message: expect.stringMatching(/beyond the film, which ends at 6\.006 seconds/),
  });
  expect(await refused({ timebase: { numerator: 1, denominator: 90_000 } })).toMatchObject({
    field: 'cut.shots.0.timebase',
    message: expect.stringContaining(`1/${frames.timebase.denominator}`),
  });
  expect(await refused({ freezes: [{ at: shot.from! + 1, seconds: 1 }] })).toMatchObject({
    field: 'cut.shots.0.freezes.0.at',
  });
  const freezes = Array.from({ length: 5 }, () => ({ at: shot.from, seconds: 30 }));
  const tooLong = await coordinator
    .put(address)
    .send({ cut: { shots: Array.from({ length: 4 }, () => ({ ...shot, freezes })) }, version: 0 })
    .expect(400);
  expect(tooLong.body.errors).toMatchObject([
    { field: 'cut.shots', message: expect.stringContaining('a play may run 600 at most') },
  ]);

  const other = await oneGame(database.pool, 3);
  expect(await refused({ filmId: other.gameId })).toMatchObject({
    field: 'cut.shots.0.filmId',
    message: expect.stringContaining('names no film of the play’s game'),
  });
  const { rows } = await database.pool.query<{ id: string }>(
    `WITH second AS (
       INSERT INTO game (conference_id, season_id, key, week, home_team_id, visiting_team_id, kickoff, venue_id)
       SELECT conference_id, season_id, 'second', week, visiting_team_id, home_team_id, kickoff, venue_id FROM game WHERE id = $1
       RETURNING conference_id, id)
     INSERT INTO film (conference_id, game_id, angle, source, state, made_by)
     SELECT conference_id, id, 'Sideline', 'upload', 'waiting', $2 FROM second RETURNING id`,
    [season.gameId, season.coordinatorId],
  );
  expect(await refused({ filmId: rows[0]!.id })).toMatchObject({
    field: 'cut.shots.0.filmId',
    message: expect.stringContaining('film of another game'),
  });
  const link = await coordinator
    .post(`/api/games/${season.gameId}/films`)
    .send({ angle: 'End zone', link: 'https://film.example/a.mp4' })
    .expect(201);
  expect(await refused({ filmId: link.body.id })).toMatchObject({
    message: expect.stringContaining('only a link'),
  });
  await database.pool.query(
    `INSERT INTO film (conference_id, game_id, angle, source, state, made_by) VALUES ($1, $2, 'Late', 'upload', 'arriving', $3)`,
    [season.conferenceId, season.gameId, season.coordinatorId],
  );
  const late = (await coordinator.get(`/api/games/${season.gameId}/films`)).body.find(
    (one: { angle: string }) => one.angle === 'Late',
  );
  expect(await refused({ filmId: late.id })).toMatchObject({ message: expect.stringContaining('not ready') });
  // Nothing of all this was kept.
  expect((await coordinator.get(address)).body.version).toBe(0);
  await coordinator
    .put(address.replace(playId, season.playIds[5]!))
    .send({ cut: { shots: [shot] }, version: 0 })
    .expect(404);

  // A card that was taken out and put in again is not kept over by a page left open on the one before.
  const card = (await coordinator.get(program)).body.plays[0];
  await coordinator.delete(`${program}/plays/${playId}`).expect(200);
  await coordinator
    .post(`${program}/plays`)
    .send({ playId, dutyKey: 'everybodys-duty', position: 'umpire', showing: 'bad' })
    .expect(201);
  const { playId: _, version, ...values } = card;
  await coordinator.put(`${program}/plays/${playId}`).send({ card: values, version }).expect(409);
});

test('a play with a film here is known to have one; removing the film tells what shows it', async () => {
  const { film, cut: address, program, playId } = await programOnFilm();
  const page = program.replace('/api/training-programs', '/training/programs');
  const textOf = async (at: string) => (await coordinator.get(at).expect(200)).text;
  const watched = `/games/${season.gameId}/plays/${playId}/film`;
  expect(await textOf(page)).toContain(`<a href="${watched}"`);
  expect(await textOf(`${page}/candidates?film=yes`)).toContain(watched);
  // Of the game's others nothing is known of where they are: only the marked play is listed.
  expect(await textOf(`${page}/candidates?film=yes`)).not.toContain(
    `/games/${season.gameId}/plays/${season.playIds[2]}/`,
  );
  const dependents = async () =>
    (await coordinator.get(`/api/games/${season.gameId}/films/${film.id}/dependents`).expect(200)).body
      .programs;
  const id = program.split('/').at(-1);
  const known = { id, title: frame.title };
  expect(await dependents()).toEqual([{ ...known, clips: [], uncut: [1], editions: [], reels: 0 }]);
  const frames = await framesIn(film.id, 'from=0&to=100');
  const cut = { shots: [shotOf(film.id, frames, 60, 120)] };
  await coordinator.put(address).send({ cut, version: 0 }).expect(200);
  const { version } = (await coordinator.get(program)).body;
  await coordinator
    .post(`${program}/editions`)
    .send({ version, untoldBecause: 'They were told by telephone.', note: '', namesMeant: true })
    .expect(201);
  expect((await coordinator.get(`${program}/editions/1`)).body.content.plays[0].hasFilm).toBe(true);
  const made = (state: string, filmId: string) =>
    database.pool.query(
      `INSERT INTO reel (conference_id, program_id, edition_number, plan, state, facts)
       VALUES ($1, $2, 1, $3, $4, $5)`,
      [
        ...[season.conferenceId, id, { plays: [{ cut: { shots: [{ filmId }] } }] }, state],
        state === 'ready' ? {} : null,
      ],
    );
  await made('ready', film.id);
  await made('ready', playId);
  await made('waiting', film.id);
  expect(await dependents()).toEqual([{ ...known, clips: [1], uncut: [], editions: [1], reels: 1 }]);
  const asked = await textOf(`/games/${season.gameId}/films/${film.id}/remove`);
  expect(asked).toContain('The clip of play 1, cut from it');
  expect(asked).toContain('Edition 1, released with clips of it');
  expect(asked).toContain('One finished reel shows it, and stays as made.');
  await coordinator.delete(`/api/games/${season.gameId}/films/${film.id}`).expect(204);
  // Reels and what was released stay; the program tells that it has no film of the play any more.
  const { rows } = await database.pool.query<{ state: string }>(
    'SELECT state FROM reel WHERE conference_id = $1 ORDER BY state',
    [season.conferenceId],
  );
  expect(rows.map(({ state }) => state)).toEqual(['ready', 'ready', 'waiting']);
  expect(await textOf(page)).toContain('no film');
});
