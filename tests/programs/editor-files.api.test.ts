// @module-tag long
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { WebVTTParser } from 'webvtt-parser';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { frame, type TaughtSeason, taughtSeason } from './taught-season.ts';

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let edition: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, {
    conferenceId: season.conferenceId,
    personId: season.coordinatorId,
  });
  await database.pool.query('UPDATE game SET film_link = $2 WHERE id = $1', [
    season.gameId,
    'https://film.example/visitors-at-home.mp4',
  ]);
  // The film of the second play begins before the first of its seconds that are shown.
  await database.pool.query('UPDATE play SET film_seconds = $2 WHERE id = $1', [season.playIds[0], 605]);
  await database.pool.query('UPDATE play SET film_seconds = $2 WHERE id = $1', [season.playIds[4], 2]);
  const { body: program } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send({ ...frame, title: 'Eyes on players' })
    .expect(201);
  const address = `/api/training-programs/${program.id}`;
  for (const [play, position, showing] of [
    [0, 'umpire', 'bad'],
    [4, 'umpire', 'good'],
    [5, 'line judge', 'good'],
  ] as const) {
    const { body } = await coordinator
      .post(`${address}/plays`)
      .send({ playId: season.playIds[play], dutyKey: 'everybodys-duty', position, showing })
      .expect(201);
    const { playId: _, version, ...card } = body.plays.at(-1);
    await coordinator
      .put(`${address}/plays/${season.playIds[play]}`)
      .send({
        card: { ...card, secondsBefore: 5, secondsAfter: 8, narration: `Look & learn ${play}.` },
        version,
      })
      .expect(200);
  }
  const { body } = await coordinator.get(address).expect(200);
  await coordinator
    .post(`${address}/editions`)
    .send({ version: body.version, untoldBecause: 'They were told by telephone.' })
    .expect(201);
  edition = `${address}/editions/1`;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const file = async (name: string, which = 'as-planned') => {
  const answer = await coordinator
    .get(`${edition}/${name}`)
    .buffer(true)
    .parse((response, done) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk) => chunks.push(chunk));
      response.on('end', () => done(null, Buffer.concat(chunks).toString('utf8')));
    });
  expect(answer.status).toBe(200);
  expect(answer.headers['content-disposition']).toBe(
    `attachment; filename="edition-1-${which}-${name.replace(/\?.*/, '')}"`,
  );
  return answer.body as string;
};

test('narration becomes captions, each within the 13 seconds of its own play', async () => {
  const { cues, errors } = new WebVTTParser().parse(await file('captions.vtt'), 'captions');
  expect(errors).toEqual([]);
  // 13 s are 390 frames of 1001/30000 s.
  expect(cues.map(({ startTime, text }) => [startTime, text])).toEqual([
    [0, 'Look &amp; learn 0.'],
    [13.013, 'Look &amp; learn 4.'],
    [26.026, 'Look &amp; learn 5.'],
  ]);
  expect(await file('captions.srt')).toContain('2\n00:00:13,013 --> ');
});

test('a timeline and an edit list name no film, and so no team, unless they are asked to', async () => {
  const events = (text: string) => text.split('\r\n').filter((line) => /^\d{3} /.test(line));
  expect(events(await file('edit-list.edl'))).toEqual([
    '001  BL       V     C        00:00:00;00 00:00:13;00 00:00:00;00 00:00:13;00',
    '002  BL       V     C        00:00:00;00 00:00:13;00 00:00:13;00 00:00:26;00',
    '003  BL       V     C        00:00:00;00 00:00:13;00 00:00:26;00 00:00:39;00',
  ]);
  const clips = async (query: string) =>
    JSON.parse(await file(`timeline.otio${query}`)).tracks.children[0].children as {
      media_references: { DEFAULT_MEDIA: { OTIO_SCHEMA: string; target_url?: string } };
      source_range: { start_time: { value: number } };
    }[];
  for (const { media_references } of await clips(''))
    expect(media_references.DEFAULT_MEDIA.OTIO_SCHEMA).toBe('MissingReference.1');
  const all = await Promise.all(
    ['captions.vtt', 'captions.srt', 'edit-list.edl', 'timeline.otio'].map((name) => file(name)),
  );
  expect(all.join('\n')).not.toMatch(/visitors|home|https|crew/i);

  // 605 − 5 s are frame 17,982 (SMPTE ST 12-1: 00:10:00;00); before the film's beginning there is nothing.
  expect(events(await file('edit-list.edl?film=true'))).toEqual([
    '001  AX       V     C        00:10:00;00 00:10:13;00 00:00:00;00 00:00:13;00',
    '002  AX       V     C        00:00:00;00 00:00:13;00 00:00:13;00 00:00:26;00',
    '003  BL       V     C        00:00:00;00 00:00:13;00 00:00:26;00 00:00:39;00',
  ]);
  const named = await clips('?film=true');
  expect(named.map((clip) => clip.media_references.DEFAULT_MEDIA.target_url)).toEqual([
    'https://film.example/visitors-at-home.mp4',
    'https://film.example/visitors-at-home.mp4',
    undefined,
  ]);
  expect(named[0]!.source_range.start_time.value).toBe(17_982);
});

/**
 * A reel of the edition that was made: five seconds of cards, the first play with ten seconds for its question after its
 * first 90 frames, the second at once, a card, the third, and a card.
 */
const madeReel = () =>
  database.pool.query(
    `INSERT INTO reel (conference_id, program_id, edition_number, plan, state, facts, bytes)
     VALUES ($1, $2, 1, $3, 'ready', $4, 1000)`,
    [
      season.conferenceId,
      edition.split('/')[3],
      JSON.stringify({ segments: [{ kind: 'card', stops: true, play: 1, frames: 300 }] }),
      JSON.stringify({
        frames: 1290,
        plays: [
          { number: 1, frame: 150, frames: 480 },
          { number: 2, frame: 630, frames: 120 },
          { number: 3, frame: 810, frames: 390 },
        ],
        questions: [{ number: 1, frame: 540 }],
      }),
    ],
  );

test('once a reel was made, all of them follow it, cards as gaps, and say so', async () => {
  await madeReel();
  const topic = 'Everybody watches players';
  const made = (name: string) => file(name, 'as-made');
  const { cues, errors } = new WebVTTParser().parse(await made('captions.vtt'), 'captions');
  expect(errors).toEqual([]);
  // 150, 630 and 810 frames of 1001/30000 s (SMPTE ST 12-1's rate).
  expect(cues.map(({ startTime }) => startTime)).toEqual([5.005, 21.021, 27.027]);
  const { children } = JSON.parse(await made('timeline.otio')).tracks.children[0] as {
    children: { OTIO_SCHEMA: string; name: string; source_range: { duration: { value: number } } }[];
  };
  expect(children.map((one) => [one.OTIO_SCHEMA, one.name, one.source_range.duration.value])).toEqual([
    ['Gap.1', 'Opening', 150],
    ['Clip.2', `Play 1, ${topic}`, 90],
    ['Gap.1', 'Question of play 1', 300],
    ['Clip.2', `Play 1, ${topic}, after its question`, 90],
    ['Clip.2', `Play 2, ${topic}`, 120],
    ['Gap.1', 'Cards after play 2', 60],
    ['Clip.2', `Play 3, ${topic}`, 390],
    ['Gap.1', 'Cards after play 3', 90],
  ]);
  const events = (await made('edit-list.edl?film=true')).split('\r\n').filter((line) => /^\d{3} /.test(line));
  expect(events).toHaveLength(8);
  // After its question the first play goes on where its film stopped: at 600 s and 90 frames.
  expect(events[3]).toBe('004  AX       V     C        00:10:03;00 00:10:06;00 00:00:18;00 00:00:21;00');
  const { text } = await coordinator.get(`${edition}/cue-sheet.csv`).expect(200);
  const sheet = parse(text, { columns: true, bom: true }) as Record<string, string>[];
  expect(sheet.map(({ starts, clip_seconds, times }) => [starts, clip_seconds, times])).toEqual([
    ['0:05', '6.01', 'as the reel was made'],
    ['0:21', '4', 'as the reel was made'],
    ['0:27', '13.01', 'as the reel was made'],
  ]);
});

test('of an edition that is not there, and a wrong choice, it says so', async () => {
  expect((await coordinator.get(`${edition.replace(/1$/, '2')}/timeline.otio`)).status).toBe(404);
  expect((await coordinator.get(`${edition}/timeline.otio?film=perhaps`)).body.errors).toMatchObject([
    { field: 'querystring.film' },
  ]);
});
