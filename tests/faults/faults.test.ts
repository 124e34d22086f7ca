// @module-tag rest
import { expect, test } from 'vitest';
import { findFaults } from './faults.ts';

// The short form of `npm run faults`: every kind of disturbance once, then requests of each role.
test('disturbed in every way it loses nothing, and asked anything it neither breaks nor gives away', async () => {
  const { figures, killing, asking, diskTried } = await findFaults({ kills: 6, requests: 250 }, () => {});
  // An account that may not mount a small disk cannot fill one: that is said, not passed over.
  if (!diskTried)
    process.stdout.write('NOT TRIED: a full disk, since this account may not mount a small one\n');
  expect({ ...figures, notes: [...killing.notes, ...asking.notes] }).toMatchObject({
    kills: 6,
    lost: 0,
    duplicated: 0,
    startFailures: 0,
    requests: expect.any(Number),
    serverErrors: 0,
    foreign: 0,
    notes: [],
  });
  expect(figures.acknowledged).toBeGreaterThan(50);
});
