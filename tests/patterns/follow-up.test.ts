import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { followUp, powerToSeeFall, recursAfterClosing } from '../../server/patterns/recurrence.ts';

const misses = (events: number, opportunities: number) => ({ events, opportunities });

describe('before and after', () => {
  it('sees a fall that is beyond chance', () => {
    // R fisher.test(matrix(c(1, 29, 9, 11), 2), alternative = "less")$p.value = 0.0005085099832
    const result = followUp(misses(9, 20), misses(1, 30), 3, 0.05);
    expect(result.verdict).toBe('fewer misses');
    expect(result.pFewer).toBeCloseTo(0.0005085099832, 9);
  });
  it('is silent until there were two games', () => {
    expect(followUp(misses(9, 20), misses(0, 30), 1, 0.05).verdict).toBe('too early to tell');
  });
  it('says too early, and how many chances it takes, while the test could hardly have seen a fall', () => {
    const result = followUp(misses(8, 20), misses(1, 5), 2, 0.05);
    expect(result.verdict).toBe('too early to tell');
    expect(result.opportunitiesNeeded).toBeGreaterThan(10);
    const needed = result.opportunitiesNeeded!;
    expect(powerToSeeFall(misses(8, 20), needed, 0.05, 0.05)).toBeGreaterThanOrEqual(0.8);
    expect(powerToSeeFall(misses(8, 20), 5, 0.05, 0.05)).toBeLessThan(0.8);
  });
  it('says no change once it would have seen one', () => {
    expect(followUp(misses(8, 20), misses(16, 40), 5, 0.05).verdict).toBe('no change shown');
  });
  it('says when it got worse', () => {
    expect(followUp(misses(8, 40), misses(16, 20), 3, 0.05).verdict).toBe('more misses');
  });
  it('never breaks on any counts', () => {
    const counts = fc
      .tuple(fc.integer({ min: 0, max: 60 }), fc.integer({ min: 0, max: 60 }))
      .map(([a, b]) => misses(Math.min(a, b), Math.max(a, b)));
    fc.assert(
      fc.property(
        counts,
        counts,
        fc.integer({ min: 0, max: 9 }),
        fc.option(fc.double({ min: 0, max: 1, noNaN: true })),
        (before, after, games, peers) => {
          const result = followUp(before, after, games, peers);
          for (const value of [
            result.pFewer,
            result.pMore,
            result.before.rate,
            result.after.rate,
            result.targetRate,
          ]) {
            expect(value).toBeGreaterThanOrEqual(0);
            expect(value).toBeLessThanOrEqual(1);
          }
          if (after.opportunities === 0) expect(result.verdict).toBe('too early to tell');
        },
      ),
      { numRuns: 200, seed: 6 },
    );
  });
  it('refuses counts that cannot be', () => {
    expect(() => followUp(misses(3, 2), misses(0, 0), 0, null)).toThrow(/before: 3 of 2/);
  });
});

describe('a closed point', () => {
  it('opens again for misses in two games that peers do not have', () => {
    expect(recursAfterClosing(2, 0.01)).toBe(true);
    expect(recursAfterClosing(1, 0.01)).toBe(false);
    expect(recursAfterClosing(4, 0.3)).toBe(false);
  });
});
