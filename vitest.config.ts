import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';
import { LongFirst, leftOutBy } from './tests/support/long-first.ts';

// unit: pure code. api: routes and stores on a real PostgreSQL. reference: results held against outside
// sources; r: those for which R runs. browser: pages in a real Chromium on a real server. File suffix and folder say
// which project a test is in.
const run = './tests/support/test-run.ts';
const programs = './tests/support/program.ts';
const postgres = './tests/support/postgres-for-tests.ts';
const keptThreads = fileURLToPath(new URL('./tests/support/kept-threads.ts', import.meta.url));

/**
 * What is put together once a run (`programs`) is used from there: the server's threads, which start without vitest's
 * loader, and what browsers load. A thread goes on for the next file.
 */
const putTogether = {
  name: 'put together',
  enforce: 'pre' as const,
  transform: (code: string, id: string) => {
    const from = id.includes('/server/threads/')
      ? code.replace("from 'node:worker_threads'", `from '${keptThreads}'`)
      : code.replace(
          /('[^']*-thread\.mjs'|'\.\/built-assets\/'), import\.meta\.url/g,
          '$1, process.env.CREWMARK_TEST_BUILT ?? import.meta.url',
        );
    return from === code ? undefined : from;
  },
};

const shared = {
  // Long, because a slow machine is no fault: a limit only ends what hangs. Speed is measured in tests/bench/.
  testTimeout: 900_000,
  hookTimeout: 600_000,
  expect: { poll: { timeout: 120_000 } },
  // Files that run in the same process import the server once. What a file changes outside its own database it
  // therefore puts back.
  isolate: false,
  setupFiles: ['./tests/support/same-draws.ts'],
  // Half of the tests' time is PostgreSQL's, R's or Chromium's, and some wait for a program to start or to stop: one
  // worker more than processors leaves none idle.
  maxWorkers: Number(process.env.WORKERS) || Math.max(2, availableParallelism()) + 1,
};

const filter = process.argv.find((argument) => argument.startsWith('--tags-filter='))?.split('=')[1];
const leftOut = leftOutBy(filter, 'tests');

const project = (name: string, include: string, globalSetup: string[], exclude: string[] = []) => ({
  plugins: [putTogether],
  test: { ...shared, name, include: [include], exclude: [...exclude, ...leftOut], globalSetup },
});

export default defineConfig({
  test: {
    sequence: { sequencer: LongFirst },
    // A file is translated once for all projects, and not again in the next run unless it changed.
    experimental: { fsModuleCache: true },
    tags: [
      {
        name: 'long',
        description:
          'Takes seconds: starts programs, writes a season of letters, searches. npm run test:quick leaves it out.',
      },
      {
        name: 'rest',
        description:
          'Takes long: renders video, kills programs again and again, walks through whole seasons. npm run test:rest runs it.',
      },
    ],
    projects: [
      project(
        'unit',
        'tests/**/*.test.ts',
        [run, programs],
        ['tests/**/*.{api,r}.test.ts', 'tests/{reference,browser}/**'],
      ),
      project('api', 'tests/**/*.api.test.ts', [run, programs, postgres]),
      project('reference', 'tests/reference/**/*.test.ts', [run], ['**/*.r.test.ts']),
      project('r', 'tests/**/*.r.test.ts', [run]),
      project('browser', 'tests/browser/**/*.test.ts', [run, programs, postgres]),
    ],
  },
});
