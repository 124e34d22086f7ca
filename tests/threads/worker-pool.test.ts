// @module-tag long
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterEach, expect, test } from 'vitest';
import type { CalculatorAnswer, CalculatorRequest } from '../../server/results/calculator.ts';
import { WorkerPool } from '../../server/threads/worker-pool.ts';

// With the thread that grades, given nothing to grade.

let pool: WorkerPool<CalculatorRequest, CalculatorAnswer>;
afterEach(() => pool.close());
const thread = pathToFileURL(path.resolve('server/results/calculator-thread.mjs'));
const poolOf = (most: number) => {
  pool = new WorkerPool(thread, 'Computing stopped', most);
  return pool;
};
const nothing: CalculatorRequest = { task: 'pairs', given: [[]] };

test('one thread as long as requests come one after the other', async () => {
  poolOf(3);
  for (let times = 0; times < 3; times += 1) expect((await pool.ask(nothing)).result).toEqual([]);
  expect(pool.size).toBe(1);
});

test('as many as requests at once, and no more than it may have; every one is answered', async () => {
  poolOf(2);
  const answers = await Promise.all(Array.from({ length: 5 }, () => pool.ask(nothing)));
  expect(answers.map(({ result }) => result)).toEqual([[], [], [], [], []]);
  expect(pool.size).toBe(2);
});

test('what one request got wrong is told to it alone', async () => {
  poolOf(2);
  const wrong = { task: 'grade', given: [null, null] } as CalculatorRequest;
  const answers = await Promise.allSettled([pool.ask(wrong), pool.ask(nothing)]);
  expect(answers.map(({ status }) => status)).toEqual(['rejected', 'fulfilled']);
});
