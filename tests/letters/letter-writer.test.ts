// @module-tag long
import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { templateKinds } from '../../server/letters/letter-data.ts';
import { LetterWriter } from '../../server/letters/letter-writer.ts';
import { TimedWorker, TookTooLong, TookTooMuch } from '../../server/threads/timed-worker.ts';
import { exampleLetter } from './letter-example.ts';

let writer: LetterWriter;
beforeAll(() => {
  writer = new LetterWriter();
});
afterAll(() => writer.close());

const own = (kind: string) =>
  readFileSync(new URL(`../../templates/letters/${kind}.md.hbs`, import.meta.url), 'utf8');
const check = (body: string) => writer.check('end-of-season', body, [exampleLetter()]);

test.each(templateKinds)('our own %s can be written for everybody', async (kind) => {
  expect(await writer.check(kind, own(kind))).toEqual([]);
});

test.each([
  ['Fine.\n\n{{number totals.games 500}}', 3, 'takes 0 to 10 decimals, not 500'],
  ['{{number totals.games -1}}', 1, 'takes 0 to 10 decimals'],
  ['Dear {{official.name}},\n{{date official.name}}', 2, 'needs a field that holds a date'],
  [`One\n\n${'> '.repeat(5000)}deep`, 3, 'nested 5000 deep'],
  [
    `Once.\n\n${'{{#each @root.weeks}}\n'.repeat(12)}x{{/each}}${'{{/each}}'.repeat(11)}`,
    14,
    'the loops go round more than 30,000 times',
  ],
  [
    `{{#each weeks}}${'{{#each @root.weeks}}'.repeat(7)}${'long '.repeat(400)}${'{{/each}}'.repeat(8)}`,
    1,
    'the loops write more than a letter can hold',
  ],
])('what only writing shows is refused with its line: %#', async (body, line, why) => {
  const problems = await check(body);
  expect(problems).toHaveLength(1);
  expect(problems[0]!.line).toBe(line);
  expect(problems[0]!.message).toContain(why);
});

test('what words and what writing shows is told together, every line of it', async () => {
  const body = [
    '{{number totals.games 500}}',
    '{{date official.name}} {{official.shoe}}',
    '{{#each weeks}}{{number week 12}}{{/each}}',
    '{{#if edition}}',
  ].join('\n');
  const problems = await check(body);
  expect(problems.map(({ line, message }) => `${line} ${message.slice(0, 20)}`)).toEqual([
    '1 “number” takes 0 to ',
    '2 “date” needs a field',
    '2 there is no field “o',
    '3 “number” takes 0 to ',
    '4 “{{#if edition}}” is',
  ]);
});

test('a loop that makes no line too deep by itself may do so by writing: it is refused, not crashed on', {
  tags: ['long'],
}, async () => {
  const rounds = '{{#each @root.weeks}}'.repeat(4);
  const [problem] = await check(`Start\n\n${rounds}> {{/each}}${'{{/each}}'.repeat(3)}deep`);
  expect(problem?.line).toBe(3);
});

test('a template that is wrong for some officials only is found by their data', async () => {
  const body = '{{#if official.crew}}{{date official.crew}}{{/if}}';
  expect((await check(body))[0]!.message).toContain('needs a field that holds a date');
});

test('while it writes, this thread goes on', async () => {
  let beats = 0;
  const beating = setInterval(() => beats++, 5);
  await check(`${'{{#each @root.weeks}}'.repeat(6)}*a* **b**{{/each}}${'{{/each}}'.repeat(5)}`);
  clearInterval(beating);
  expect(beats).toBeGreaterThan(0);
});

test('a thread that does not come back, or takes all memory, is ended; the next request is answered', async () => {
  const thread = new URL(
    `data:text/javascript,${encodeURIComponent(`
      import { parentPort } from 'node:worker_threads';
      parentPort.on('message', (what) => {
        if (what === 'hang') for (;;);
        const held = [];
        while (what === 'eat') held.push(new Array(100000).fill(held.length));
        parentPort.postMessage({ answer: what });
      });
      parentPort.postMessage({ ready: true });
    `)}`,
  );
  const worker = new TimedWorker<string, string>(thread, { memory: 64 });
  const hanging = worker.ask('hang', 0.5);
  const behind = worker.ask('one', 60);
  await expect(hanging).rejects.toBeInstanceOf(TookTooLong);
  expect(await behind).toBe('one');
  const eating = worker.ask('eat', 60);
  const after = worker.ask('two', 60);
  await expect(eating).rejects.toBeInstanceOf(TookTooMuch);
  expect(await after).toBe('two');
  await worker.close();
});
