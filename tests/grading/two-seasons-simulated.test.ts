// @module-tag rest
import { expect, test } from 'vitest';
import { estimate } from '../bench/seasons/summary.ts';
import { gradeWithSeasonBefore } from '../bench/seasons/two-seasons.ts';

// Fixed seeds: these figures never change. `tests/bench/simulate-two-seasons.ts` runs more seasons and worlds.

const seeds = Array.from({ length: 10 }, (_, at) => 1 + at);
type Graded = ReturnType<typeof gradeWithSeasonBefore>;
type Figure = 'error' | 'rho' | 'coverage' | 'rankCoverage' | 'severityCoverage';
const mean = (of: Graded['with'], figure: Figure) => estimate(of.map((one) => one[figure]));
const change = (graded: Graded, figure: Figure) =>
  estimate(graded.with.map((one, at) => one[figure]! - graded.alone[at]![figure]!));

test.each(['linear', 'counts'] as const)(
  '%s: most officials stay as they were, some change much, a fifth are new: grades are nearer the truth and intervals hold',
  (model) => {
    const graded = gradeWithSeasonBefore('demo-like', model, seeds);
    const error = change(graded, 'error');
    expect(error.mean + 2 * error.standardError).toBeLessThan(0);
    const part = error.mean / mean(graded.alone, 'error').mean;
    expect(part).toBeLessThan(-0.02);
    expect(part).toBeGreaterThan(-0.2);
    const order = change(graded, 'rho');
    expect(order.mean + 2 * order.standardError).toBeGreaterThan(0);
    for (const [figure, low, high] of [
      ['coverage', 0.87, 0.94],
      ['rankCoverage', 0.9, 0.995],
    ] as const) {
      const held = mean(graded.with, figure);
      expect(held.mean, figure).toBeGreaterThan(low - 2 * held.standardError);
      expect(held.mean, figure).toBeLessThan(high + 2 * held.standardError);
      expect(held.standardError, figure).toBeLessThan(0.05);
    }
  },
);

test.each(['linear', 'counts'] as const)(
  '%s: where nobody is as they were, little is borrowed, little gets worse and intervals hold but for a point or two',
  (model) => {
    const graded = gradeWithSeasonBefore('nobody as before', model, seeds);
    expect(estimate(graded.correlations).mean).toBeLessThan(0.4);
    expect(change(graded, 'error').mean / mean(graded.alone, 'error').mean).toBeLessThan(0.02);
    const held = change(graded, 'coverage');
    expect(held.mean).toBeGreaterThan(-0.025);
    expect(held.mean).toBeLessThan(0.015);
  },
);
