import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { Pipeline } from '../../server/database/pipeline.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let pipeline: Pipeline;
beforeAll(async () => {
  database = await testDatabase();
  pipeline = new Pipeline({ connectionString: database.url }, database.pool);
});
afterAll(async () => {
  await pipeline.close();
  await database.drop();
});

const plusOne = { name: 'plus one', text: 'SELECT $1::int + 1 AS sum, pg_backend_pid() AS pid' };
const ask = (number: number) =>
  pipeline.query<{ sum: number; pid: number }>({ ...plusOne, values: [number] }).then(({ rows }) => rows[0]!);
const asked = (many: number) => Promise.all(Array.from({ length: many }, (_, number) => ask(number)));
const sums = (many: number) => Array.from({ length: many }, (_, number) => number + 1);

test('many questions at once are each answered, over one connection', async () => {
  const answers = await asked(200);
  expect(answers.map(({ sum }) => sum)).toEqual(sums(200));
  expect(new Set(answers.map(({ pid }) => pid)).size).toBe(1);
});

test('a wrong question is refused, those around it are answered', async () => {
  const [before, wrong, after] = await Promise.allSettled([
    ask(1),
    pipeline.query({ text: 'SELECT 1 / $1::int', values: [0] }),
    ask(2),
  ]);
  expect(before).toMatchObject({ status: 'fulfilled', value: { sum: 2 } });
  // PostgreSQL, appendix A: 22012 is division_by_zero.
  expect(wrong).toMatchObject({ status: 'rejected', reason: { code: '22012' } });
  expect(after).toMatchObject({ status: 'fulfilled', value: { sum: 3 } });
});

test('a connection that breaks loses no answer and is made anew', async () => {
  const { pid } = await ask(0);
  const slow = pipeline.query<{ told: string }>({ text: "SELECT 'told' AS told FROM pg_sleep(0.5)" });
  const behind = asked(20);
  const owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
  await owner.query('SELECT pg_terminate_backend($1)', [pid]);
  await owner.end();
  expect((await slow).rows).toEqual([{ told: 'told' }]);
  expect((await behind).map(({ sum }) => sum)).toEqual(sums(20));
  const again = await asked(20);
  expect(again.map(({ sum }) => sum)).toEqual(sums(20));
  const pids = new Set(again.map((answer) => answer.pid));
  expect(pids.size).toBe(1);
  expect(pids.has(pid)).toBe(false);
});

test('without a connection of its own it asks the pool', async () => {
  const nowhere = new Pipeline({ host: '127.0.0.1', port: 1 }, database.pool);
  const { rows } = await nowhere.query({ ...plusOne, values: [41] });
  expect(rows).toMatchObject([{ sum: 42 }]);
  await nowhere.close();
});
