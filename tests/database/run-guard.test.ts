// @module-tag long
import { execFileSync, fork } from 'node:child_process';
import { once } from 'node:events';
import { access } from 'node:fs/promises';
import { expect, test } from 'vitest';

const starter = new URL('../support/start-run.ts', import.meta.url);

const processesOf = (folder: string) =>
  execFileSync('ps', ['-eo', 'stat,args'])
    .toString()
    .split('\n')
    .filter((line) => line.includes(folder) && !line.startsWith('Z'));

test('a killed run of tests leaves neither a PostgreSQL nor its folder behind', async () => {
  const run = fork(starter, [], { execArgv: ['--import', 'tsx'] });
  const ended = once(run, 'exit');
  const folder = await Promise.race([
    once(run, 'message').then(([message]) => String(message)),
    ended.then(([code]) => Promise.reject(new Error(`it ended by itself: ${code}`))),
  ]);
  expect(processesOf(folder).join('\n')).toMatch(/postgres.* -D /);
  run.kill('SIGKILL');
  await ended;
  await expect.poll(() => processesOf(folder), { interval: 200 }).toEqual([]);
  await expect(access(folder)).rejects.toThrow(/ENOENT/);
});
