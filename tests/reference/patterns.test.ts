import { describe, expect, it } from 'vitest';
import { binomialTest, fisherExactTest } from '../../server/patterns/exact-tests.ts';
import { benjaminiHochberg } from '../../server/patterns/false-discovery.ts';
import { wilsonInterval } from '../../server/patterns/wilson-interval.ts';

describe('Wilson interval', () => {
  // Newcombe 1998, Statistics in Medicine 17, 857-872, table I, method 3 (score without continuity correction).
  it.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])('%i of %i is %f to %f', (events, opportunities, low, high) => {
    const interval = wilsonInterval(events, opportunities);
    expect(interval.low).toBeCloseTo(low, 4);
    expect(interval.high).toBeCloseTo(high, 4);
  });
});

describe('false-discovery control', () => {
  // Benjamini and Hochberg 1995, J. R. Statist. Soc. B 57, section 4: fifteen ordered p-values.
  const published = [
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719, 0.6528,
    0.759, 1,
  ];
  // R 4.2 p.adjust(method = "BH").
  const adjusted = [
    0.0015, 0.003, 0.0095, 0.03562, 0.0603, 0.06386, 0.06386, 0.0645, 0.0765, 0.486, 0.58118, 0.71487,
    0.75323, 0.81321, 1,
  ];
  it('rejects the first four at q = .05, as in the paper, in whatever order they come', () => {
    const shuffled = [...published].reverse();
    const result = benjaminiHochberg(shuffled).reverse();
    expect(result.filter((p) => p <= 0.05)).toHaveLength(4);
    for (const [i, p] of result.entries()) expect(Math.abs(p - adjusted[i]!)).toBeLessThan(5.1e-6);
  });
  it('gives the same when the hopeless ones are only counted', () => {
    const result = benjaminiHochberg(published.slice(0, 9), 15);
    for (const [i, p] of result.entries()) expect(Math.abs(p - adjusted[i]!)).toBeLessThan(5.1e-6);
  });
});

describe('exact tests', () => {
  it('binomial: 7 of 20 against .15, as R binom.test', () => {
    expect(binomialTest(7, 20, 0.15, 'more')).toBeCloseTo(0.0219351008568, 12);
  });
  it('Fisher 1935, the lady tasting tea: 3 of 4, as R fisher.test', () => {
    const p = fisherExactTest({ events: 3, opportunities: 4 }, { events: 1, opportunities: 4 }, 'more');
    expect(p).toBeCloseTo(17 / 70, 14);
    expect(p).toBeCloseTo(0.242857142857, 12);
  });
});
