// @module-tag long
import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { knowledgeLines } from '../../server/knowledge/lines-in-words.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { manySittings } from './many-sittings.ts';

// What pages say of measures, once enough officials have taken a quiz.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let umpire: SignedInAgent;
let takers: string[];
const now = new Date('2031-08-10T12:00:00Z');
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  app.quizClock.now = () => now;
  game = await oneGame(database.pool, 1);
  const as = (personId: string) => inSessionOf(app, { conferenceId: game.conferenceId, personId });
  coordinator = await as(game.coordinatorId);
  umpire = await as(game.crew.umpire!);
  const { rows } = await database.pool.query<{ id: string }>(
    `INSERT INTO person (conference_id, given_name, family_name, email)
     SELECT $1, 'Quiz', 'Taker ' || n, 'quiz' || n || '@test.example' FROM generate_series(1, 39) n RETURNING id`,
    [game.conferenceId],
  );
  takers = [game.crew.umpire!, ...rows.map(({ id }) => id)];
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const words = async (agent: SignedInAgent, address: string) =>
  parseHTML((await agent.get(address).expect(200)).text)
    .document.querySelector('main')!
    .textContent!.replaceAll(/\s+/g, ' ');
/** Forty sittings of eight questions, each right as `chance` says, in the same order of chance for everybody. */
function answered(chance: (official: number, question: number) => number) {
  let state = 77;
  const uniform = () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
  return takers.map((_, official) =>
    Array.from({ length: 8 }, (__, question) => (uniform() < chance(official, question) ? 1 : 0)),
  );
}
const quizOf = (title: string, rows: (0 | 1)[][], more: (0 | 1)[][] = []) =>
  manySittings(database.pool, {
    ...{ conferenceId: game.conferenceId, seasonId: game.seasonId, title },
    closesAt: new Date('2031-08-09T20:00:00Z'),
    taken: new Map(takers.map((id, at) => [id, more[at] ? [rows[at]!, more[at]] : [rows[at]!]])),
  });

test('whether one measure holds for all is said as Andersen’s test says it', async () => {
  const level = (official: number) => (official % 4) - 1.5;
  const logistic = (x: number) => 1 / (1 + Math.exp(-x));
  const alike = await quizOf(
    'Alike',
    answered((official, question) => logistic(level(official) - (question - 3.5) / 2)),
  );
  const page = await words(coordinator, `/quizzes/${alike}/results`);
  expect(page).toMatch(
    /One measure may hold for all: nothing beyond chance says that other questions are the hard ones for those with fewer right than for those with more \(Andersen's test, \d+\.\d on \d+, chance 0?\.\d{3}\)\./,
  );
  expect(page).not.toContain('One measure may not hold');
  // The first four are easy for those who know little and hard for the others.
  const differing = await quizOf(
    'Differing',
    answered((official, question) => {
      const more = official % 2 === 0;
      if (question < 4) return more ? 0.2 : 0.6;
      return more ? 0.95 : 0.15;
    }),
  );
  const other = await words(coordinator, `/quizzes/${differing}/results`);
  expect(other).toMatch(
    /One measure may not hold for all: which questions are the hard ones differs, beyond chance, between those with fewer and those with more right \(Andersen's test, \d+\.\d on \d+, chance 0?\.0\d{2}\)\./,
  );
  expect(other).not.toContain('One measure may hold');
});

test('an official reads their measure with its interval, of all sittings where the best of several counts', async () => {
  const rows = answered((official, question) => 0.3 + 0.05 * ((official + question) % 8));
  rows[0] = [1, 0, 0, 1, 0, 0, 1, 0];
  const more: (0 | 1)[][] = [[1, 1, 1, 1, 1, 1, 0, 1]];
  const quiz = await quizOf('Best', rows, more);
  const { text } = await coordinator.get(`/api/quizzes/${quiz}/results.csv`).expect(200);
  const lines = text.trim().split('\r\n');
  const own = lines.map((line) => line.split(',')).find(([name]) => name === 'Test umpire')!;
  // Seven right count; three of eight, each question's first answer, are what is measured.
  expect([own.slice(1, 4), own.slice(6)]).toEqual([
    ['2', '7', '8'],
    ['3', '8'],
  ]);
  const [value, se] = own.slice(4, 6).map(Number) as [number, number];
  expect(se).toBeGreaterThan(0.5);
  const shown = (x: number) => x.toFixed(1).replace('-', '−');
  const page = await words(umpire, `/my/quizzes/${quiz}`);
  expect(page).toContain(
    `Your measure: ${shown(value)}, standard error ${shown(se)}. 0 is as able as the questions are hard on average; the truth lies between ${shown(value - 1.645 * se)} and ${shown(value + 1.645 * se)} about nine times in ten, so small differences say nothing. It is of your first answer to each question over all sittings, 3 of 8 right: the best of several sittings also tells of luck.`,
  );
  const results = await words(coordinator, `/quizzes/${quiz}/results`);
  expect(results).toContain('by 3 of 8, all sittings');
  expect(results).toContain(
    'the measure of who sat again is of their first answer to each question, over all sittings',
  );
  const lineOf = `Best: 7 of 8 right in the best of 2 sittings, measure ${shown(value)} ± ${shown(se)} over all of them; does not enter the grade.`;
  expect(await words(umpire, '/my/evaluation')).toContain(lineOf);
  const letter = (await knowledgeLines(database.pool, game.conferenceId, game.seasonId)).get(
    game.crew.umpire!,
  )!;
  expect(letter).toContain(lineOf.replace('Best:', 'Rules quiz “Best”:'));
  // Who sat once is measured by that, and nothing is said of others' luck.
  const once = lines[1]!.split(',');
  expect(once.slice(2, 4)).toEqual(once.slice(6));
});
