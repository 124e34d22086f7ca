import { defineConfig } from 'vitest/config';

// unit: pure code. api: routes and stores on a real PostgreSQL. reference: results held against outside
// sources. browser: pages in a real Chromium on a real server. File suffix says which project a test is in.
const database = ['./tests/support/postgres-for-tests.ts'];

// Long, because a slow machine is no fault: a limit only ends what hangs. Speed is measured in tests/bench/.
const patience = { testTimeout: 600_000, hookTimeout: 300_000 };

export default defineConfig({
  test: {
    projects: [
      {
        test: {
          ...patience,
          name: 'unit',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/**/*.api.test.ts', 'tests/reference/**', 'tests/browser/**'],
        },
      },
      {
        test: {
          ...patience,
          name: 'api',
          include: ['tests/**/*.api.test.ts'],
          globalSetup: database,
        },
      },
      {
        test: {
          ...patience,
          name: 'reference',
          include: ['tests/reference/**/*.test.ts'],
        },
      },
      {
        test: {
          ...patience,
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          globalSetup: database,
          maxWorkers: 1,
        },
      },
    ],
  },
});
