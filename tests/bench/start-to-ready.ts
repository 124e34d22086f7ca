import { spawn } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import type { Measurement } from './measurement.ts';

const goal = { first: 120, second: 10 };

/** Seconds from `npm start`'s process to an answering server: on a bare folder (demo season loaded) and again. */
export async function startToReady(): Promise<Measurement[]> {
  const dataDir = await mkdtemp(path.join(os.tmpdir(), 'crewmark-bench-'));
  try {
    const first = await startOnce(dataDir);
    const second = await startOnce(dataDir);
    return [
      {
        name: 'start-to-ready: first start, demo season loaded',
        value: first,
        unit: 's',
        against: `goal, ${goal.first} s`,
        ratio: first / goal.first,
      },
      {
        name: 'start-to-ready: second start',
        value: second,
        unit: 's',
        against: `goal, ${goal.second} s`,
        ratio: second / goal.second,
      },
    ];
  } finally {
    await rm(dataDir, { recursive: true, force: true });
  }
}

async function startOnce(dataDir: string): Promise<number> {
  const begun = performance.now();
  const child = spawn(process.execPath, ['--import', 'tsx', 'server/start.ts'], {
    env: { ...process.env, DATA_DIR: dataDir, DATABASE_URL: '', DEMO: 'on', PORT: '0' },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const ended = new Promise<void>((resolve) => child.once('close', () => resolve()));
  let output = '';
  const address = await new Promise<string>((resolve, reject) => {
    child.stdout.on('data', (chunk) => {
      output += chunk;
      const found = /ready at (http\S+)/.exec(output)?.[1];
      if (found) resolve(found);
    });
    void ended.then(() => reject(new Error('The program ended before it was ready.')));
  });
  const ready = await fetch(`${address}/ready`);
  const seconds = (performance.now() - begun) / 1000;
  if (!ready.ok) throw new Error(`GET /ready said ${ready.status}.`);
  child.kill('SIGINT');
  await ended;
  return seconds;
}
