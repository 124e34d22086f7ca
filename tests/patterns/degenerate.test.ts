import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { CountRow } from '../../server/patterns/counts.ts';
import { stratifiedExactTest } from '../../server/patterns/exact-tests.ts';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { judgeTrends, trendBesideUsual, trendWithinStrata } from '../../server/patterns/trend.ts';

const name = (letters: string) => fc.constantFrom(...letters);

const countRow: fc.Arbitrary<CountRow> = fc
  .record({
    official: name('abc'),
    position: name('xy'),
    crew: fc.constantFrom('one', 'two', ''),
    game: fc.constantFrom('g1', 'g2', 'g3', 'g4'),
    week: fc.integer({ min: 1, max: 4 }),
    duty: name('kl'),
    situationCut: fc.constantFrom(null, undefined, 'cut'),
    opportunities: fc.integer({ min: 0, max: 40 }),
    misses: fc.integer({ min: 0, max: 40 }),
    model: fc.integer({ min: 0, max: 40 }),
  })
  .map((row) => {
    const misses = Math.min(row.misses, row.opportunities);
    // An official's game belongs to one stratum.
    const observer = 'op'[(row.official.charCodeAt(0) + Number(row.game[1])) % 2]!;
    return { ...row, observer, misses, model: Math.min(row.model, row.opportunities - misses) };
  });

function everyNumberIsFinite(value: unknown, path = 'result'): void {
  if (typeof value === 'number') expect(Number.isFinite(value), `${path} is ${value}`).toBe(true);
  else if (Array.isArray(value))
    for (const [i, item] of value.entries()) everyNumberIsFinite(item, `${path}[${i}]`);
  else if (value && typeof value === 'object' && !(value instanceof Map)) {
    for (const [key, item] of Object.entries(value)) everyNumberIsFinite(item, `${path}.${key}`);
  }
}

it('gives finite figures for any counts, however senseless their arrangement', () => {
  fc.assert(
    fc.property(
      fc.array(countRow, { maxLength: 60 }),
      fc.constantFrom(1, 10),
      (rows, minimumOpportunities) => {
        const result = findPatterns(rows, { minimumOpportunities, minimumGames: 1, falseDiscoveryRate: 0.4 });
        everyNumberIsFinite(result);
        for (const pattern of result.patterns) {
          expect(pattern.adjustedP).toBeLessThanOrEqual(0.4);
          expect(pattern.adjustedP).toBeGreaterThanOrEqual(pattern.pValue - 1e-12);
          expect(pattern.excess).toBeGreaterThan(0);
        }
      },
    ),
    { numRuns: 300, seed: 11 },
  );
});

it('does not depend on the order of the rows', () => {
  fc.assert(
    fc.property(fc.array(countRow, { maxLength: 40 }), (rows) => {
      const settings = { minimumOpportunities: 1, minimumGames: 1, falseDiscoveryRate: 0.4 };
      const brief = (list: readonly CountRow[]) =>
        findPatterns(list, settings)
          .patterns.map(
            (p) => `${p.official} ${p.position} ${p.duty} ${p.situationCut} ${p.adjustedP.toFixed(9)}`,
          )
          .sort();
      expect(brief([...rows].reverse())).toEqual(brief(rows));
    }),
    { numRuns: 100, seed: 12 },
  );
});

it('takes empty, certain and impossible strata', () => {
  expect(stratifiedExactTest([], 'more')).toBe(1);
  const all = { events: 5, opportunities: 5, allEvents: 9, allOpportunities: 9 };
  expect(stratifiedExactTest([all], 'more')).toBeCloseTo(1, 12);
  expect(stratifiedExactTest([all], 'fewer')).toBeCloseTo(1, 12);
  const none = { events: 0, opportunities: 5, allEvents: 0, allOpportunities: 9 };
  expect(stratifiedExactTest([none, all], 'more')).toBeCloseTo(1, 12);
});

it('takes trends without movement or without data', () => {
  const games = (misses: readonly number[], usual: readonly number[]) =>
    misses.map((events, i) => ({ week: i, game: `g${i}`, chances: 10, events, usual: usual[i]! }));
  expect(trendBesideUsual([])).toMatchObject({ method: 'too few', pValue: 1 });
  expect(trendBesideUsual(games([0, 0, 0, 0], [1, 1, 1, 1]))).toMatchObject({ method: 'too few', pValue: 1 });
  expect(trendBesideUsual(games([1, 2, 3, 4], [0, 0, 0, 0]))).toMatchObject({ method: 'too few', pValue: 1 });
  expect(trendBesideUsual(games([1, 1, 1, 1, 1, 1], [1, 1, 1, 1, 1, 1]))).toMatchObject({ pValue: 1 });
  const sameWeek = games([1, 2, 3, 4], [1, 1, 1, 1]).map((game) => ({ ...game, week: 3 }));
  expect(trendBesideUsual(sameWeek)).toMatchObject({ slope: 0, pValue: 1 });
  expect(trendWithinStrata(games([3, 2, 1, 0, 1], [1, 1, 1, 1, 1]).map((game) => [game]))).toMatchObject({
    method: 'too few',
    pValue: 1,
  });
  expect(judgeTrends([], 0.1)).toEqual({ trends: [], family: { comparisons: 0, found: 0 } });
});
