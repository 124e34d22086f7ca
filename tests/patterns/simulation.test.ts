// @module-tag rest
import { expect, it } from 'vitest';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { conferenceShape, simulateSeason } from '../bench/simulated-counts.ts';

// Seeds are fixed, so these shares are the same on every run. `tests/bench/simulate-patterns.ts` runs more seasons.
const small = { duties: 8, positions: 4, cuts: 1 };
const seeds = Array.from({ length: 24 }, (_, i) => i + 1);

type Listed = 'officials' | 'strengths' | 'crews' | 'weeks';

/** Seasons in which a list shows anything, and in which a family of trends names any. */
function seasonsWithAny(shape: Parameters<typeof simulateSeason>[1]) {
  const listed: Record<Listed, number> = { officials: 0, strengths: 0, crews: 0, weeks: 0 };
  const trends = { officials: 0, conference: 0 };
  for (const seed of seeds) {
    const { families, trendFamilies } = findPatterns(simulateSeason(seed, { ...small, ...shape }));
    for (const list of Object.keys(listed) as Listed[]) if (families[list].found > 0) listed[list]++;
    for (const of of ['officials', 'conference'] as const) if (trendFamilies[of].found > 0) trends[of]++;
  }
  return { listed, trends };
}

const manySeenByOne = { severitySd: 1, doubled: 0, homeObserver: 0.7 };
const worlds = {
  'nobody differs but observers do': { severitySd: 1 },
  'most games of a crew are seen by one observer': manySeenByOne,
  'games differ in difficulty as well': { severitySd: 0.6, gameSd: 0.5 },
};
const shown = new Map<string, ReturnType<typeof seasonsWithAny>>();

// Benjamini and Hochberg 1995: where nothing is there, the chance of any rejection is at most q = 0.10. The exact tests
// stay well below it, so that 2 of 24 seasons are enough without an allowance for chance.
it.each(Object.entries(worlds))('keeps its promise when %s', (world, shape) => {
  const any = seasonsWithAny(shape);
  shown.set(world, any);
  for (const [list, seasons] of Object.entries(any.listed))
    expect(seasons, list).toBeLessThanOrEqual(0.1 * seeds.length);
});

// A permutation test is exact, so trends come near the tenth from both sides: too few would be a test that finds nothing.
// R 4.2.2: qbinom(c(.025, .975), 72, .1) is 3 and 12, of the 72 seasons of the three worlds together; a test that finds
// nothing, or too much by twice, is still outside.
it('names a trend where there is none in a tenth of all seasons', () => {
  const all = [...shown.values()];
  expect(all).toHaveLength(3);
  for (const of of ['officials', 'conference'] as const) {
    const seasons = all.reduce((sum, { trends }) => sum + trends[of], 0);
    expect(seasons, of).toBeGreaterThanOrEqual(3);
    expect(seasons, of).toBeLessThanOrEqual(12);
  }
});

it('would not keep its promise without the adjustment for observers', () => {
  const few = seeds.slice(0, 20);
  const broken = few.filter((seed) => {
    const rows = simulateSeason(seed, { ...small, ...manySeenByOne });
    return findPatterns(rows.map((row) => ({ ...row, observer: 'same' }))).families.officials.found > 0;
  });
  expect(broken.length).toBeGreaterThan(0.3 * few.length);
});

it('finds what was planted, and among what it finds no more than a tenth that was not', () => {
  // About 175 chances each, a miss in five where one in twenty is usual. A plain binomial test against the usual rate at
  // a Bonferroni limit for all 384 comparisons, .1 / 384, finds 99.8 % of them: R 4.2.2, c <- qbinom(1 - .1/384, 175, .05);
  // pbinom(c, 175, .2, lower.tail = FALSE). Here the usual rate must be told from the others, by observer, so it is less.
  let found = 0;
  let planted = 0;
  let others = 0;
  for (const seed of seeds.slice(0, 20)) {
    const officials = [0, 1, 2].map(
      (i) => `c${(seed + 2 * i) % conferenceShape.crews}p${(i + seed) % small.positions}`,
    );
    const rows = simulateSeason(seed, {
      ...small,
      planted: officials.map((official) => ({ official, duty: 'd1', situationCut: null, missRate: 0.2 })),
    });
    const { patterns } = findPatterns(rows);
    const hit = new Set(
      patterns
        .filter(({ official, duty }) => duty === 'd1' && officials.includes(official))
        .map((p) => p.official),
    );
    planted += officials.length;
    found += hit.size;
    others += patterns.filter(
      ({ official, duty }) => !(duty === 'd1' && officials.includes(official)),
    ).length;
  }
  // R 4.2.2: qbinom(.025, 60, .93) = 52. Of 50 or so found, a tenth false is 5; qbinom(.975, 60, .1) = 11 would be chance.
  expect(planted).toBe(60);
  expect(found).toBeGreaterThanOrEqual(52);
  expect(others).toBeLessThanOrEqual(0.1 * (found + others));
});
