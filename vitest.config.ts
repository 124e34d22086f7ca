import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

// unit: pure code. api: routes and stores on a real PostgreSQL. reference: results held against outside
// sources. browser: pages in a real Chromium on a real server. File suffix says which project a test is in.
const database = ['./tests/support/postgres-for-tests.ts'];

const shared = {
  // Long, because a slow machine is no fault: a limit only ends what hangs. Speed is measured in tests/bench/.
  testTimeout: 600_000,
  hookTimeout: 300_000,
  // Half of the tests' time is PostgreSQL's, so a worker for every processor leaves none idle.
  maxWorkers: Math.max(2, availableParallelism()),
};

export default defineConfig({
  test: {
    projects: [
      {
        test: {
          ...shared,
          name: 'unit',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/**/*.api.test.ts', 'tests/reference/**', 'tests/browser/**'],
        },
      },
      {
        test: {
          ...shared,
          name: 'api',
          include: ['tests/**/*.api.test.ts'],
          globalSetup: database,
          // Files that run in the same process import the server once. What a file changes outside its own database it
          // therefore puts back.
          isolate: false,
        },
      },
      {
        test: {
          ...shared,
          name: 'reference',
          include: ['tests/reference/**/*.test.ts'],
        },
      },
      {
        test: {
          ...shared,
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          globalSetup: database,
          maxWorkers: 1,
          sequence: { groupOrder: 1 },
        },
      },
    ],
  },
});
