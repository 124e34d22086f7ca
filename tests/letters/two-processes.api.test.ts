// @module-tag rest
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { createBatch } from '../../server/letters/letter-batches.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { program } from '../support/program.ts';

let database: DemoDatabase;
const processes: ChildProcess[] = [];
beforeAll(async () => {
  database = await demoDatabase();
});
afterAll(async () => {
  for (const process of processes) process.kill('SIGKILL');
  await database.drop();
});

async function start() {
  const child = spawn(process.execPath, [...program('tests/letters/letter-process.ts'), database.url], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  processes.push(child);
  const made = { count: 0 };
  const waiting: { atLeast: number; done: () => void }[] = [];
  child.stdout!.setEncoding('utf8').on('data', (text: string) => {
    made.count += text.split('\n').length - 1;
    for (const { atLeast, done } of waiting) if (made.count >= atLeast) done();
  });
  const ended = once(child, 'exit');
  const untilMade = (atLeast: number) =>
    new Promise<void>((done, fail) => {
      if (made.count >= atLeast) return done();
      waiting.push({ atLeast, done });
      void ended.then(() => fail(new Error(`ended after ${made.count} letters`)));
    });
  return { child, made, untilMade, ended };
}

test('two processes share a batch; one dies by SIGKILL; every letter is made once', async () => {
  const { rows: coordinators } = await database.pool.query(
    "SELECT person_id FROM person_role WHERE role = 'coordinator' LIMIT 1",
  );
  const batchId = await createBatch(
    database.pool,
    { conferenceId: database.conferenceId, personId: coordinators[0].person_id, timeZone: 'America/Chicago' },
    { seasonId: database.seasonId, kind: 'end-of-season', paper: 'Letter', replyBy: null, personIds: null },
  );

  const first = await start();
  const second = await start();
  await Promise.all([first.untilMade(3), second.untilMade(3)]);
  first.child.kill('SIGKILL');
  await first.ended;
  const [code] = await second.ended;
  expect(code).toBe(0);

  const { rows: jobs } = await database.pool.query(
    'SELECT state, attempts, letter_id FROM letter_job WHERE batch_id = $1',
    [batchId],
  );
  expect(jobs.length).toBeGreaterThan(60);
  for (const job of jobs) expect(job).toMatchObject({ state: 'made', attempts: 1 });
  expect(new Set(jobs.map((job) => job.letter_id)).size).toBe(jobs.length);
  const { rows: letters } = await database.pool.query(
    'SELECT person_id, edition, encode(sha256(pdf), $1) = sha256 AS whole FROM letter',
    ['hex'],
  );
  expect(letters).toHaveLength(jobs.length);
  expect(new Set(letters.map((letter) => letter.person_id)).size).toBe(jobs.length);
  for (const letter of letters) expect(letter).toMatchObject({ edition: 1, whole: true });
  // Both took part, and each letter was said to be made at most once.
  expect(first.made.count).toBeGreaterThanOrEqual(3);
  expect(second.made.count).toBeGreaterThanOrEqual(3);
  expect(first.made.count + second.made.count).toBeLessThanOrEqual(jobs.length);
});
