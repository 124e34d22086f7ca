import { defineConfig } from 'vitest/config';

// unit: pure code. api: routes and stores on a real PostgreSQL. reference: results held against outside
// sources. browser: pages in a real Chromium on a real server. File suffix says which project a test is in.
const database = ['./tests/support/postgres-for-tests.ts'];

export default defineConfig({
  test: {
    projects: [
      {
        test: {
          name: 'unit',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/**/*.api.test.ts', 'tests/reference/**', 'tests/browser/**'],
          testTimeout: 60_000,
        },
      },
      {
        test: {
          name: 'api',
          include: ['tests/**/*.api.test.ts'],
          globalSetup: database,
          testTimeout: 120_000,
          hookTimeout: 120_000,
        },
      },
      {
        test: {
          name: 'reference',
          include: ['tests/reference/**/*.test.ts'],
          testTimeout: 300_000,
          hookTimeout: 120_000,
        },
      },
      {
        test: {
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          globalSetup: database,
          testTimeout: 300_000,
          hookTimeout: 180_000,
          maxWorkers: 1,
        },
      },
    ],
  },
});
