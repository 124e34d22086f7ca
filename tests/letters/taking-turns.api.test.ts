// @module-tag long
import { afterAll, beforeAll, expect, test } from 'vitest';
import { createBatch } from '../../server/letters/letter-batches.ts';
import { LetterMaker } from '../../server/letters/letter-maker.ts';
import { LetterWriter } from '../../server/letters/letter-writer.ts';
import { Calculator } from '../../server/results/calculator.ts';
import { seasonResults } from '../../server/results/season-results.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

let database: TestDatabase;
const calculator = new Calculator();
const writer = new LetterWriter();
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(async () => {
  await writer.close();
  await calculator.close();
  await database.drop();
});

const ask = ({ conferenceId, coordinatorId, first }: TwoSeasons) =>
  createBatch(
    database.pool,
    { conferenceId, personId: coordinatorId, timeZone: 'America/Chicago' },
    { seasonId: first.id, kind: 'mid-season', paper: 'Letter', replyBy: null, personIds: null },
  );

test("one conference's few letters need not wait for another's many: they take turns of four", async () => {
  const [many, few] = [await twoSeasons(database.pool), await twoSeasons(database.pool)];
  await ask(many);
  await ask(few);
  const results = seasonResults(database.pool, calculator);
  const maker = new LetterMaker(database, results, 'https://crewmark.example.test/my/marks', writer);
  const whose: string[] = [];
  const made = new Set<string>();
  while (await maker.makeNext()) {
    const { rows } = await database.pool.query<{ conference: string; person: string }>(
      `SELECT conference_id AS conference, person_id AS person FROM letter_job WHERE state <> 'waiting'`,
    );
    for (const { conference, person } of rows) {
      if (made.has(person)) continue;
      made.add(person);
      whose.push(conference === many.conferenceId ? 'many' : 'few');
    }
  }
  const turn = (name: string) => Array.from({ length: 4 }, () => name);
  expect(whose).toHaveLength(16);
  expect(whose.slice(0, 12)).toEqual([...turn('many'), ...turn('few'), ...turn('many')]);
});
