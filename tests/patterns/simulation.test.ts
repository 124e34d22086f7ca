import { expect, it } from 'vitest';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { simulateSeason } from '../bench/simulated-counts.ts';

// Seeds are fixed, so these shares are the same on every run. `tests/bench/simulate-patterns.ts` runs more seasons.
const small = { duties: 8, positions: 4, cuts: 1 };
const seeds = Array.from({ length: 60 }, (_, i) => i + 1);

function shareWithAny(shape: Parameters<typeof simulateSeason>[1], forgetObservers = false) {
  const share = { officials: 0, strengths: 0, crews: 0, weeks: 0 };
  for (const seed of seeds) {
    let rows = simulateSeason(seed, { ...small, ...shape });
    if (forgetObservers) rows = rows.map((row) => ({ ...row, observer: 'same' }));
    const { families } = findPatterns(rows);
    for (const family of Object.keys(share) as (keyof typeof share)[]) {
      if (families[family].found > 0) share[family] += 1 / seeds.length;
    }
  }
  return share;
}

// Benjamini and Hochberg 1995: where nothing is there, the chance of any rejection is at most q = 0.10.
it('keeps its promise when nobody differs but observers do', () => {
  const share = shareWithAny({ severitySd: 1 });
  for (const [family, value] of Object.entries(share)) expect(value, family).toBeLessThanOrEqual(0.1);
});

it('keeps it when most games of a crew are seen by one observer, and would not without the adjustment', () => {
  const shape = { severitySd: 1, doubled: 0, homeObserver: 0.7 };
  expect(shareWithAny(shape).officials).toBeLessThanOrEqual(0.1);
  expect(shareWithAny(shape, true).officials).toBeGreaterThan(0.3);
});

it('keeps it when games differ in difficulty as well', () => {
  const share = shareWithAny({ severitySd: 0.6, gameSd: 0.5 });
  expect(share.officials).toBeLessThanOrEqual(0.1);
  expect(share.strengths).toBeLessThanOrEqual(0.1);
  // Crews and weeks have few games each, and the widening is approximate: see its docstring.
  expect(share.crews).toBeLessThanOrEqual(0.15);
  expect(share.weeks).toBeLessThanOrEqual(0.15);
});
