// @module-tag rest
import { execFileSync } from 'node:child_process';
import { mkdir, readdir, readFile, utimes } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { tidyRecordings } from '../../server/narration/tidying.ts';
import { erasePerson } from '../../server/privacy/erasure.ts';
import { type Voice, voiceOf } from '../../server/reels/rendering/voice.ts';
import { tidyReels } from '../../server/reels/tidying.ts';
import type { CutVoice } from '../../server/timeline/cut.ts';
import { ffmpeg, run, toneAt } from '../narration/sounds.ts';
import { type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { filmedProgram, filmOfGame } from './filmed-program.ts';

// What is heard of a play in a finished reel: tones at times that the test chose, found again in the sound as ffmpeg
// decodes it, and loudness by ffmpeg's meter (ITU-R BS.1770; EBU R 128 asks for -23 LUFS).

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let colleague: { agent: SignedInAgent; personId: string };
let data: string;
let program: string;
let play: string;
let shot: object;

beforeAll(async () => {
  data = await folderInRun('voices');
  database = await testDatabase();
  app = await testApp(database, { DATA_DIR: data });
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, { conferenceId: season.conferenceId, personId: season.coordinatorId });
  colleague = await personSignedIn(app, season.conferenceId, ['coordinator']);
  const filmId = await filmOfGame(database.pool, season, data);
  program = `/api/training-programs/${await filmedProgram(coordinator, season)}`;
  play = `${program}/plays/${season.playIds[0]}`;
  // One play without cards of its own is enough to hear.
  for (const other of [4, 5])
    await coordinator.delete(`${program}/plays/${season.playIds[other]}`).expect(200);
  await narrate('Watch the players.');
  const { body: frames } = await coordinator
    .get(`/api/games/${season.gameId}/films/${filmId}/frames?from=0&to=100`)
    .expect(200);
  // 81 frames, 2.703 s, from 2.13547 s on: of the film's own tones, at each whole second, two begin in it.
  shot = { filmId, timebase: frames.timebase, from: frames.ticks[64], to: frames.ticks[145] };
}, 180_000);
afterAll(async () => {
  await app.close();
  await database.drop();
});

/** Records what ffmpeg makes of that. @returns the voice for a cut */
async function voice(name: string, made: readonly string[], as = coordinator) {
  const file = path.join(data, name);
  await ffmpeg(...made, file);
  const { body } = await as
    .post(`${play}/recordings`)
    .type('audio/wav')
    .send(await readFile(file))
    .expect(201);
  return { kind: 'recorded', recordingId: body.id as string };
}
async function cut(said: object | null, more: object = {}) {
  const { version } = (await coordinator.get(`${play}/cut`).expect(200)).body;
  await coordinator
    .put(`${play}/cut`)
    .send({ cut: { shots: [{ ...shot, ...more }], voice: said }, version })
    .expect(200);
}
async function narrate(narration: string) {
  const [{ playId, version, ...card }] = (await coordinator.get(program).expect(200)).body.plays;
  await coordinator
    .put(`${program}/plays/${playId}`)
    .send({
      card: {
        ...card,
        topic: '',
        answer: '',
        answeredOn: null,
        firstKey: '',
        secondKey: '',
        question: '',
        choices: [],
        narration,
      },
      version,
    })
    .expect(200);
}
interface Reel {
  id: string;
  state: string;
  facts: { plays: { frame: number; frames: number }[]; hasSound: boolean; notes: string[] };
}
async function made(asked: object = {}): Promise<Reel> {
  const { body } = await coordinator.post(`${program}/reels`).send(asked).expect(201);
  await app.reels.idle();
  const { body: reel } = await coordinator.get(`${program}/reels/${body.id}`).expect(200);
  expect(reel).toMatchObject({ state: 'ready', failed: null });
  return reel;
}
const fileOf = ({ id }: Reel) => path.join(data, 'reels', season.conferenceId, `${id}.mp4`);
const clips = async () => readdir(path.join(data, 'reels', season.conferenceId, 'clips'));

/** When tones begin, in seconds from the play's first frame, each with its highest peak of full scale. */
async function heard(reel: Reel): Promise<{ at: number; peak: number }[]> {
  const { stdout } = await run(
    'ffmpeg',
    ['-v', 'error', '-i', fileOf(reel), '-ac', '1', '-ar', '48000', '-f', 's16le', '-'],
    { encoding: 'buffer', maxBuffer: 2 ** 28 },
  );
  const samples = new Int16Array(stdout.buffer, stdout.byteOffset, stdout.length >> 1);
  const begin = (reel.facts.plays[0]!.frame * 1001) / 30_000;
  const found: { at: number; peak: number }[] = [];
  let last = Number.NEGATIVE_INFINITY;
  samples.forEach((one, at) => {
    const size = Math.abs(one) / 32_768;
    if (size < 0.03) return;
    // Quiet for a twentieth of a second before: another tone.
    if (at - last > 2400) found.push({ at: at / 48_000 - begin, peak: size });
    found.at(-1)!.peak = Math.max(found.at(-1)!.peak, size);
    last = at;
  });
  return found;
}
const within2ms = (tones: { at: number }[], at: number[]) => {
  expect(tones.map((tone) => tone.at.toFixed(1))).toEqual(at.map((one) => one.toFixed(1)));
  for (const [place, one] of at.entries()) expect(Math.abs(tones[place]!.at - one)).toBeLessThan(0.002);
};
/** Integrated loudness in LUFS of what ffmpeg reads by that. */
async function loudness(...read: string[]): Promise<number> {
  const { stderr } = await run('ffmpeg', [
    ...['-nostdin', '-nostats', ...read, '-map', '0:a', '-af', 'ebur128', '-f', 'null', '-'],
  ]);
  return Number(/Integrated loudness:\s+I:\s+(-?[\d.]+) LUFS/.exec(stderr)![1]);
}
const loudnessOfPlay = (reel: Reel) => {
  const { frame, frames } = reel.facts.plays[0]!;
  const [from, length] = [frame, frames].map((one) => ((one * 1001) / 30_000).toFixed(4));
  return loudness('-ss', from!, '-t', length!, '-i', fileOf(reel));
};
/** Of the film's tones, those that begin in the shot. */
const ofFilm = [3, 4].map((second) => second - (64 * 1001) / 30_000);

test('what somebody spoke is heard from the clip’s begin, to 2 ms, and the film lower under it', {
  timeout: 300_000,
}, async () => {
  await cut(await voice('one.wav', toneAt(2.5, 0.5, 1.5)), { muted: false });
  const reel = await made();
  expect(reel.facts).toMatchObject({ hasSound: true, plays: [{ frames: 81 }], notes: [] });
  const tones = await heard(reel);
  within2ms(tones, [0.5, ofFilm[0]!, 1.5, ofFilm[1]!]);
  // The film's tone has half of full scale in one channel, 3 dB less in each of two; under a voice a quarter of that.
  const lowered = 0.5 * Math.SQRT1_2 * 0.25;
  expect(tones[1]!.peak).toBeGreaterThan(lowered * 0.85);
  expect(tones[1]!.peak).toBeLessThan(lowered * 1.15);
  // The voice is the louder, though the film came far above the loudness to which a voice is brought.
  expect(tones[0]!.peak).toBeGreaterThan(1.3 * tones[1]!.peak);
});

test('an edition speaks as it did when it was released, whatever is recorded afterwards', {
  timeout: 300_000,
}, async () => {
  await cut(await voice('then.wav', toneAt(2, 0.6)));
  const { version } = (await coordinator.get(program)).body;
  const { body } = await coordinator
    .post(`${program}/editions`)
    .send({ version, note: 'With a voice.', untoldBecause: 'They were told by telephone.' })
    .expect(201);
  await cut(await voice('now.wav', toneAt(2, 1.2)));
  await tidyRecordings(database.pool, app.narration.files);
  await database.pool.query(`UPDATE narration SET let_go_at = let_go_at - interval '30 days'`);
  await tidyRecordings(database.pool, app.narration.files);
  const edition = await made({ edition: body.number });
  // Muted: nothing but the voice.
  within2ms(await heard(edition), [0.6]);
  const before = await clips();
  within2ms(await heard(await made()), [1.2]);
  // Another recording, another clip; the cards were there.
  expect(await clips()).toHaveLength(before.length + 1);
  // What goes with it says how it is spoken, and by nobody's name.
  const sheet = (await coordinator.get(`${program}/editions/${body.number}/cue-sheet.csv`).expect(200)).text;
  const [head, first] = sheet.split(/\r?\n/).map((line) => line.split(','));
  expect(first![head!.indexOf('voice')]).toBe('recorded');
});

test('whispered or shouted, a recording is brought to one loudness', { timeout: 120_000 }, async () => {
  const folder = path.join(data, 'loud');
  await mkdir(folder);
  for (const [number, amplitude] of [
    [1, 0.004],
    [2, 0.9],
  ] as const) {
    const noise = `anoisesrc=c=pink:d=3:a=${amplitude}:r=48000:seed=7`;
    const said = await voice(`noise-${number}.wav`, ['-f', 'lavfi', '-i', noise, '-ac', '1']);
    expect(Math.abs((await loudness('-i', path.join(data, `noise-${number}.wav`))) + 23)).toBeGreaterThan(5);
    const spoken = { number, title: '', narration: '', voice: said as CutVoice, lacking: null };
    const { conferenceId } = season;
    const signal = new AbortController().signal;
    const levelled = (await voiceOf(spoken, { app, conferenceId, folder, signal })) as Voice;
    expect(levelled.samples).toBe(3 * 48_000);
    expect([number, Math.abs((await loudness('-i', levelled.sound.file)) + 23) < 0.6]).toEqual([
      number,
      true,
    ]);
  }
});

test('a play that is spoken and has no text lacks its captions: the program and its release say so', async () => {
  await cut(await voice('untold.wav', toneAt(2, 0.5)));
  await narrate('');
  const pageOf = (address: string) => address.replace('/api/training-programs', '/training/programs');
  const textOf = async (address: string) => (await coordinator.get(pageOf(address)).expect(200)).text;
  const words = 'the text of what was recorded: without it the play has no captions';
  for (const address of [program, `${program}/release`])
    expect((await textOf(address)).toLowerCase().includes(words)).toBe(true);
  const card = await textOf(play);
  expect(card.includes('Recorded: 2 seconds over 2.7 seconds.')).toBe(true);
  expect(card.includes('Without its text above the play has no captions.')).toBe(true);
  await narrate('Watch the players.');
  expect((await textOf(program)).includes(words)).toBe(false);
});

test('with a person’s data goes their voice, out of finished reels too', { timeout: 300_000 }, async () => {
  await narrate('');
  await cut(await voice('theirs.wav', toneAt(5, 4.5), colleague.agent));
  const reel = await made();
  // It is longer than its clip: 5 s are 150 frames at 30000/1001 a second, of which the last is held.
  expect(reel.facts).toMatchObject({
    plays: [{ frames: 150 }],
    notes: ['Play 1 is spoken and has no text: it has no captions. Write its narration.'],
  });
  within2ms(await heard(reel), [4.5]);
  const spoken = (await clips()).length;
  await inTransaction(database.pool, (client) =>
    erasePerson(
      client,
      { conferenceId: season.conferenceId, personId: season.coordinatorId },
      colleague.personId,
      'They asked.',
    ),
  );
  app.reels.wake();
  await app.reels.idle();
  const { body: again } = await coordinator.get(`${program}/reels/${reel.id}`).expect(200);
  expect(again).toMatchObject({
    state: 'ready',
    facts: { notes: ['The voice of play 1 is not heard: its recording was removed. Record it again.'] },
  });
  expect(await heard(again)).toEqual([]);
  const yesterday = new Date(Date.now() - 86_400_000);
  for (const name of await clips())
    await utimes(path.join(data, 'reels', season.conferenceId, 'clips', name), yesterday, yesterday);
  await tidyReels(database.pool, app.reels.files);
  // The silent clip came, the spoken one went.
  expect((await clips()).length).toBeLessThan(spoken + 1);
  const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM narration');
  const known = new Set(rows.map(({ id }) => id));
  for (const name of await clips()) {
    const of = /\.([0-9a-f-]{36})\.mov$/.exec(name)?.[1];
    expect(of === undefined || known.has(of)).toBe(true);
  }
});

const hasEspeak = (() => {
  try {
    execFileSync('espeak-ng', ['--version']);
    return true;
  } catch {
    return false;
  }
})();
if (!hasEspeak) console.warn('espeak-ng is not installed: nobody listens to the machine voice.');

test.skipIf(!hasEspeak)('a machine voice is heard, as loud as a person', { timeout: 300_000 }, async () => {
  await narrate('The umpire looks at the players in front of him, then at the ball, and then at the pile.');
  await cut({ kind: 'spoken' });
  const reel = await made();
  expect(reel.facts).toMatchObject({ hasSound: true, notes: [] });
  // Seventeen words take longer than the clip: its last picture is held.
  expect(reel.facts.plays[0]!.frames).toBeGreaterThan(81);
  expect(Math.abs((await loudnessOfPlay(reel)) + 23)).toBeLessThan(1);
  // Speech, not one tone: heard from the first half second on, with pauses.
  const parts = await heard(reel);
  expect(parts[0]!.at).toBeLessThan(0.5);
  expect(parts.length).toBeGreaterThan(1);
});
