import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { chmod, mkdtemp, realpath } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { onceARun } from './once-a-run.ts';

/** Gives a run of tests a folder for its databases, and a guard that clears it away even when the run is killed. */
export default async function setup() {
  return (await onceARun('folder', makeRunFolder)).leave;
}

async function makeRunFolder() {
  const folder = await realpath(await mkdtemp(path.join(os.tmpdir(), 'crewmark-tests-')));
  await chmod(folder, 0o711); // as root, PostgreSQL runs as another user, who walks through
  // In a session of its own, so that what ends the run does not end the guard.
  const guard = spawn(
    process.execPath,
    [fileURLToPath(new URL('./run-guard.mjs', import.meta.url)), folder],
    {
      detached: true,
      stdio: ['pipe', 'ignore', 'inherit'],
    },
  );
  process.env.CREWMARK_TEST_RUN = folder;
  // Programs that tests start tell no line for each request.
  process.env.LOG_LEVEL ??= 'warn';
  return {
    async end() {
      const ended = once(guard, 'exit');
      guard.stdin.end();
      await ended;
    },
  };
}

/** A new folder for a test's database; it goes with the run, at the latest. */
export function folderInRun(name: string): Promise<string> {
  return mkdtemp(path.join(process.env.CREWMARK_TEST_RUN!, `${name}-`));
}
