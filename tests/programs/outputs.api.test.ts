// @module-tag long
import { execFileSync } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import path from 'node:path';
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { frame, type TaughtSeason, taughtSeason } from './taught-season.ts';

// The files that go with an edition, read by programs that are not ours: poppler's pdftotext and pdfinfo, and qpdf.

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let folder: string;
/** Address of the edition. */
let edition: string;
/** Whatever tells whose plays they are. */
let traces: string[];

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  folder = await folderInRun('training-outputs');
  season = await taughtSeason(database.pool);
  const { conferenceId } = season;
  const run = (sql: string, more: unknown[] = []) => database.pool.query(sql, [conferenceId, ...more]);
  await run(`UPDATE person SET family_name = 'Quill' || left(md5(id::text), 6) WHERE conference_id = $1`);
  await run(`UPDATE team SET name = 'Alder ' || name WHERE conference_id = $1`);
  await run(
    `WITH made AS (INSERT INTO crew (conference_id, season_id, name) VALUES ($1, $2, 'Slatecrew') RETURNING id)
     UPDATE game SET crew_id = made.id, film_link = 'https://film.example/alder' FROM made WHERE conference_id = $1`,
    [season.seasonId],
  );
  await run('UPDATE play SET film_seconds = 100 WHERE conference_id = $1 AND id = $2', [season.playIds[0]]);
  coordinator = await inSessionOf(app, { conferenceId, personId: season.coordinatorId });
  edition = await released();
  const { rows } = await run(
    'SELECT family_name AS name, email, id::text FROM person WHERE conference_id = $1',
  );
  traces = [
    ...rows.flatMap(({ name, email, id }) => [name, email, id]),
    ...['Alder', 'Slatecrew', 'week-1', 'film.example'],
    season.gameId,
    ...season.playIds,
  ];
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

async function released(): Promise<string> {
  const { body: program } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send(frame)
    .expect(201);
  const address = `/api/training-programs/${program.id}`;
  for (const [number, position, showing] of [
    [5, 'umpire', 'good'],
    [1, 'umpire', 'bad'],
    [6, 'line judge', 'good'],
  ] as const)
    await coordinator
      .post(`${address}/plays`)
      .send({ playId: season.playIds[number - 1], dutyKey: 'everybodys-duty', position, showing })
      .expect(201);
  const card = {
    ...{ topic: 'Eyes on players', aspect: 'signal', showing: 'bad', position: 'umpire' },
    ...{ dutyKey: 'everybodys-duty', answer: '=Stop the clock, then look through the pile.' },
    ...{ ruleCited: 'Rule 3', mechanicCited: 'Dead-ball section', twoMechanics: true },
    ...{ firstKey: 'Feet still', secondKey: 'Eyes up', question: 'Where should the umpire look?' },
    choices: [
      { text: 'At the players', right: true },
      { text: 'At the ball', right: false },
    ],
    narration: Array.from({ length: 60 }, () => 'word').join(' '),
    ...{ secondsBefore: 6, secondsAfter: 10, answeredOn: '2031-07-01' },
  };
  const { body: before } = await coordinator.get(address);
  const { version } = before.plays.find((play: { playId: string }) => play.playId === season.playIds[0]);
  await coordinator.put(`${address}/plays/${season.playIds[0]}`).send({ card, version }).expect(200);
  const { body: now } = await coordinator.get(address);
  await coordinator
    .post(`${address}/editions`)
    .send({ version: now.version, untoldBecause: 'They were told by telephone.' })
    .expect(201);
  return `${address}/editions/1`;
}

/** The file, its name, and of a PDF its words, what it says of itself, and all its content unpacked. */
async function file(name: string) {
  const answer = await coordinator
    .get(`${edition}/${name}`)
    .buffer(true)
    .parse((response, done) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('end', () => done(null, Buffer.concat(chunks)));
    })
    .expect(200);
  const disposition = String(answer.headers['content-disposition']);
  const body = answer.body as Buffer;
  if (name.includes('.csv')) return { disposition, words: body.toString(), about: '', inside: '' };
  const at = path.join(folder, name.replaceAll(/\W/g, '-'));
  await writeFile(at, body);
  const run = (program: string, ...given: string[]) =>
    execFileSync(program, given, { encoding: 'latin1', stdio: ['ignore', 'pipe', 'pipe'] });
  run('qpdf', '--check', at);
  return {
    disposition,
    words: execFileSync('pdftotext', ['-layout', at, '-'], { encoding: 'utf8' }).replaceAll(/\s+/g, ' '),
    about: execFileSync('pdfinfo', [at], { encoding: 'utf8' }),
    inside: run('qpdf', '--qdf', '--object-streams=disable', at, '-'),
  };
}
const files = [
  'script.pdf',
  'questions.pdf',
  'questions.pdf?answers=true',
  'handout.pdf',
  'cue-sheet.pdf',
  'cue-sheet.csv',
];

test.each(files)('%s names nobody: not in its words, its name, nor what it says of itself', async (name) => {
  const { disposition, words, about, inside } = await file(name);
  for (const trace of traces)
    for (const part of [disposition, words, about, inside]) expect(part).not.toContain(trace);
  // Every character has its glyph.
  expect(words).not.toContain('stands for a character');
  expect(disposition).toMatch(/filename="training-[a-z-]+-edition-1\.(pdf|csv)"$/);
  // What is looked for would be found.
  const { words: sourced } = await file('cue-sheet.csv?sources=true');
  expect(sourced).toContain('Alder');
});

test('the script tells for each play how long its text takes beside its clip', async () => {
  const { words } = await file('script.pdf');
  expect(words).toContain('Eyes on players');
  // 60 words at 183 a minute: 19.7 seconds. The clip of 16 seconds holds 48.
  expect(words).toContain(
    'Clip 16 seconds, text 19.7 seconds (60 words): 3.7 seconds too long, 12 words too many',
  );
  expect(words).toContain('Longer than its clip: play 2 by 3.7 seconds');
  expect(words).toContain('Without a text: play 1, 3');
  expect(words).toContain('Stop and ask: Where should the umpire look?');
});

test('the question sheet keeps its answers to itself until asked for them', async () => {
  const { words } = await file('questions.pdf');
  expect(words).toContain('Where should the umpire look?');
  expect(words).toContain('A At the players');
  expect(words).toContain('Without a question: play 1, 3.');
  for (const answer of ['Right:', 'Answer of record', 'through the pile', 'Feet still'])
    expect(words).not.toContain(answer);
  const { words: answered } = await file('questions.pdf?answers=true');
  expect(answered).toContain('Right: A');
  expect(answered).toContain('through the pile');
});

test('the handout has key points, the answer with its day and what it rests on, and signals in words', async () => {
  const { words } = await file('handout.pdf');
  for (const part of [
    'Feet still',
    'Eyes up',
    'Rule 3; Dead-ball section; as of July 1, 2031.',
    'Two ways of doing it are acceptable.',
    'Umpire: is expected to keep eyes on players.',
    'Stop the clock: signal 3',
  ])
    expect(words).toContain(part);
});

test('the cue sheet has every play with its times, tells what lacks film, and its sources only when asked', async () => {
  const rows = (text: string): Record<string, string>[] => parse(text, { columns: true });
  const plain = rows((await file('cue-sheet.csv')).words);
  expect(new Set(plain.map(({ times }) => times))).toEqual(new Set(['as planned']));
  expect(plain.map(({ play, starts, clip_seconds, film }) => [play, starts, clip_seconds, film])).toEqual([
    ['1', '0:00', '16', 'lacking'],
    ['2', '0:16', '16', 'there'],
    // The second play's question stands for twenty seconds.
    ['3', '0:52', '16', 'lacking'],
  ]);
  expect(Object.keys(plain[0]!)).not.toContain('game');
  const sourced = rows((await file('cue-sheet.csv?sources=true')).words);
  expect(sourced[1]).toMatchObject({
    game: 'Alder Visitors at Alder Home',
    week: '1',
    play_of_game: '1',
    film_from_seconds: '94',
    film_to_seconds: '110',
  });
  const { words } = await file('cue-sheet.pdf');
  expect(words).toMatch(/Without film so far: .*Play 1: .*Play 3: /);
  expect(words).toContain('Times are as planned: 1:08 of 10:00');
  expect((await file('cue-sheet.pdf?sources=true')).words).toContain('Alder Visitors at Alder Home');
});
