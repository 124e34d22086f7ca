// @module-tag rest
import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import path from 'node:path';
import { afterEach, beforeAll, expect, test } from 'vitest';
import { program as putTogether } from '../support/program.ts';
import { folderInRun } from '../support/test-run.ts';

// The program as a person starts it: its own process, its own embedded database, signals and exit codes.

let dataDir: string;
let running: ChildProcess | undefined;
beforeAll(async () => {
  dataDir = await folderInRun('start');
});
afterEach(() => {
  running?.kill('SIGKILL');
});

type Ended = { code: number | null; output: string };

/** File by file, as `npm start` does it. */
const fileByFile = ['--import', 'tsx', 'server/start.ts'];

function start(env: Record<string, string>, program = putTogether('server/start.ts')) {
  let output = '';
  const child = spawn(process.execPath, program, {
    env: { ...process.env, DATA_DIR: dataDir, PORT: '0', DEMO: 'off', DATABASE_URL: '', ...env },
  });
  running = child;
  const ended = new Promise<Ended>((resolve) => child.once('close', (code) => resolve({ code, output })));
  const ready = new Promise<string>((resolve, reject) => {
    const read = (chunk: Buffer) => {
      output += chunk;
      const address = /ready at (http\S+)/.exec(output)?.[1];
      if (address) resolve(address);
    };
    child.stdout.on('data', read);
    child.stderr.on('data', read);
    void ended.then(() => reject(new Error(`ended before it was ready: ${output}`)));
  });
  ready.catch(() => {});
  const told = async (words: string) => {
    while (!output.includes(words)) {
      if (child.exitCode !== null) throw new Error(`ended before it said "${words}": ${output}`);
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
  };
  return { ready, ended, told };
}

const processesOf = (folder: string) =>
  execFileSync('ps', ['-eo', 'stat,args'])
    .toString()
    .split('\n')
    .filter((line) => line.includes(folder) && !line.startsWith('Z'));

test('it starts on a bare data folder, answers, and Ctrl-C leaves no process behind', async () => {
  const run = start({}, fileByFile);
  const address = await run.ready;
  expect(await (await fetch(`${address}/ready`)).json()).toEqual({ status: 'ready' });
  expect(processesOf(dataDir).length).toBeGreaterThan(0);
  // Made at this start; other tests have it built ahead.
  const style = /\/assets\/style-\w+\.css/.exec(await (await fetch(`${address}/sign-in`)).text())![0];
  const [plain, packed] = await Promise.all(
    ['identity', 'br'].map((encoding) =>
      fetch(`${address}${style}`, { headers: { 'accept-encoding': encoding } }),
    ),
  );
  expect([plain!, packed!].map(({ headers }) => headers.get('content-encoding'))).toEqual([null, 'br']);
  expect(await packed!.text()).toBe(await plain!.text());
  running!.kill('SIGINT');
  expect((await run.ended).code).toBe(0);
  expect(processesOf(dataDir)).toEqual([]);
});

test('Ctrl-C while the database is still being made leaves no process behind', async () => {
  const fresh = await folderInRun('start');
  const run = start({ DATA_DIR: fresh });
  await run.told('Creating the database');
  running!.kill('SIGINT');
  expect((await run.ended).code).toBe(0);
  expect(processesOf(fresh)).toEqual([]);
});

const oneSentence = async (env: Record<string, string>, sentence: RegExp) => {
  const { code, output } = await start(env).ended;
  expect(code).toBe(1);
  const told = output
    .split('\n')
    .filter((line) => line && !/^(Starting|Creating|Applying|Stopping)/.test(line));
  expect(told).toHaveLength(1);
  expect(told[0]).toMatch(sentence);
};

test('a taken port is told in one sentence', async () => {
  const holder = createServer().listen(0, '127.0.0.1');
  await new Promise((resolve) => holder.once('listening', resolve));
  const { port } = holder.address() as { port: number };
  await oneSentence(
    { PORT: String(port) },
    new RegExp(`^Port ${port} on 127\\.0\\.0\\.1 is taken; set PORT`),
  );
  expect(processesOf(dataDir)).toEqual([]);
  holder.close();
});

test('an unwritable data folder, an unreachable database and a wrong setting are each told in one sentence', async () => {
  await writeFile(path.join(dataDir, 'file'), '');
  await oneSentence(
    { DATA_DIR: path.join(dataDir, 'file', 'below') },
    /cannot be written \(ENOTDIR\); set DATA_DIR/,
  );
  await oneSentence(
    { DATABASE_URL: 'postgresql://x@127.0.0.1:1/none' },
    /cannot be reached .*; check DATABASE_URL/,
  );
  await oneSentence({ PORT: 'seventy' }, /^The settings cannot be used \(PORT: /);
});

const eachThread = `
  import { Calculator } from './server/results/calculator.ts';
  import { LetterWriter } from './server/letters/letter-writer.ts';
  import { Planner } from './server/observers/planner.ts';
  import { defaultPrices as prices } from './server/planning/prices.ts';
  const [calculator, writer, planner] = [new Calculator(), new LetterWriter(), new Planner()];
  await calculator.start();
  const problems = await writer.check('end-of-season', 'Well {{worked}}.');
  const nothing = { games: [], observers: [], standing: [], locked: [], crewTarget: null, prices };
  const { unfilled } = await planner.plan(nothing);
  console.log(JSON.stringify({ problems, unfilled }));
  await Promise.all([calculator.close(), writer.close(), planner.close()]);
`;

test('each thread starts file by file too, as everywhere but in tests', () => {
  const { stdout, stderr } = spawnSync(
    process.execPath,
    ['--import', 'tsx', '--input-type=module', '--eval', eachThread],
    { encoding: 'utf8' },
  );
  expect(stderr).toBe('');
  expect(JSON.parse(stdout)).toMatchObject({ problems: [{ line: 1 }], unfilled: [] });
});
