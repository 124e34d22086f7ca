// @module-tag long
import { expect, it } from 'vitest';
import { followWorld, worlds } from '../../bench/simulate-follow-up.ts';
import { changes } from '../../bench/simulated-points.ts';

// Seeds are fixed, so these shares are the same on every run; `tests/bench/simulate-follow-up.ts` runs more seasons and
// worlds. What R or a table could say of the bounds is in `tests/reference/follow-up.r.test.ts`.
const seeds = (count: number) => Array.from({ length: count }, (_, i) => i + 1);

it('says neither fewer nor more where only the observers changed, as a plain test at every look would', () => {
  const world = worlds['milder observers afterwards']!;
  const { points, fewer, more, naiveFewer } = followWorld(world, 'found', changes.none, seeds(10));
  expect(points).toBeGreaterThan(15);
  expect(fewer.at(-1)).toBeLessThanOrEqual(0.05);
  expect(more.at(-1)).toBeLessThanOrEqual(0.05);
  expect(naiveFewer.at(-1)).toBeGreaterThan(0.5);
});

it('is not silent: an official who falls to what peers miss is told so, in most cases before the season ends', () => {
  const { fewer } = followWorld(worlds['a few far off']!, 'found', changes['falls to the peers'], seeds(15));
  expect(fewer.at(-1)).toBeGreaterThan(0.6);
  expect(fewer.at(-1)).toBeLessThan(0.98);
  expect(fewer[0]).toBe(0); // after one game nothing is said
});
