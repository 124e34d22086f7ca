import { randomLcg, randomPoisson } from 'd3-random';
import { variance } from 'simple-statistics';
import { expect, test } from 'vitest';
import { chanceShares } from '../../server/grading/chance-shares.ts';

// Misses drawn as Poisson counts by d3-random; how much each duty's weighted misses vary is measured over the draws.

const duties = [
  { duty: 'dear and rare', weight: 4, mean: 9 },
  { duty: 'usual', weight: 1, mean: 60 },
  { duty: 'cheap and frequent', weight: 0.25, mean: 400 },
];

test('one season tells what part of the chance each duty has, as many seasons have it', () => {
  const source = randomLcg(0.2026);
  const drawn = duties.map(({ mean }) => {
    const draw = randomPoisson.source(source)(mean);
    return Array.from({ length: 4000 }, () => draw());
  });
  const measured = drawn.map((misses, at) => variance(misses.map((count) => count * duties[at]!.weight)));
  const whole = measured.reduce((sum, value) => sum + value);
  const told = duties.map(({ duty }) => {
    const each = drawn[0]!.map(
      (_, season) =>
        chanceShares(
          duties.map(({ duty, weight }, at) => {
            const misses = drawn[at]![season]!;
            return { duty, weight, opportunities: 5000, met: 5000 - misses };
          }),
        ).get(duty) ?? 0,
    );
    return each.reduce((sum, value) => sum + value) / each.length;
  });
  for (const [at, share] of told.entries())
    expect(Math.abs(share - measured[at]! / whole)).toBeLessThan(0.03);
});

test('what a miss costs is what counts; what was not missed, or weighs nothing, has no part', () => {
  const shares = chanceShares([
    { duty: 'signal', weight: 1, opportunities: 10, met: 8 },
    { duty: 'call', weight: 2, opportunities: 10, met: 9, cost: 2.5 },
    { duty: 'call', weight: 2, opportunities: 4, met: 4 },
    { duty: 'nothing', weight: 0, opportunities: 10, met: 0 },
  ]);
  expect([...shares]).toEqual([
    ['signal', 2 / 12],
    ['call', 10 / 12],
  ]);
  expect(chanceShares([{ duty: 'signal', weight: 1, opportunities: 10, met: 10 }]).size).toBe(0);
});
