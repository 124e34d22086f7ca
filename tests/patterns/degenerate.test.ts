import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { CountRow } from '../../server/patterns/counts.ts';
import { stratifiedExactTest } from '../../server/patterns/exact-tests.ts';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { mannKendall } from '../../server/patterns/mann-kendall.ts';

const name = (letters: string) => fc.constantFrom(...letters);

const countRow: fc.Arbitrary<CountRow> = fc
  .record({
    official: name('abc'),
    position: name('xy'),
    crew: fc.constantFrom('one', 'two', ''),
    game: fc.constantFrom('g1', 'g2', 'g3', 'g4'),
    week: fc.integer({ min: 1, max: 4 }),
    observer: name('op'),
    duty: name('kl'),
    situationCut: fc.constantFrom(null, undefined, 'cut'),
    opportunities: fc.integer({ min: 0, max: 40 }),
    misses: fc.integer({ min: 0, max: 40 }),
    model: fc.integer({ min: 0, max: 40 }),
  })
  .map((row) => {
    const misses = Math.min(row.misses, row.opportunities);
    return { ...row, misses, model: Math.min(row.model, row.opportunities - misses) };
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
  expect(mannKendall([])).toMatchObject({ direction: 'no clear trend', pValue: 1 });
  expect(mannKendall([1, 1, 1, 1, 1, 1])).toMatchObject({ direction: 'no clear trend', pValue: 1 });
  expect(() => mannKendall([1, Number.NaN, 2, 3])).toThrow(/value 1/);
});
