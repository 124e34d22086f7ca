// @module-tag rest
import { expect, test } from 'vitest';
import { runJob } from '../bench/seasons/run.ts';
import { type Estimate, estimate, summarize } from '../bench/seasons/summary.ts';

// Fixed seeds: these figures never change. A bound is what is promised, 88 to 92 % for an interval of 90 %, widened by two
// standard errors of the few seasons used here; `npm run simulate` runs more seasons, scenarios and figures.

function expectWithin(
  { mean, standardError }: Estimate,
  [low, high]: readonly [number, number],
  what: string,
  widest = 0.015,
) {
  expect(mean, what).toBeGreaterThan(low - 2 * standardError);
  expect(mean, what).toBeLessThan(high + 2 * standardError);
  // Seasons that differ too much to tell anything would let everything pass: of grades, more than 0.85 to 0.95.
  expect(standardError, what).toBeLessThan(widest);
}

const ofEight = 0.78;
const ofFour = 0.85;
test.each([
  // What share of the places a rank's interval may take up, and what rank correlation must be gained on raw grades.
  ['linear', 'demo-like', 12, ofEight, 0],
  ['linear', 'every game seen twice', 12, ofEight, 0],
  ['linear', 'severity sd 0.6', 12, ofEight, 0.03],
  ['linear', 'disconnected crews', 12, ofFour, 0],
  ['counts', 'severity sd 0.6', 8, ofEight, 0.03],
])(
  '%s model, %s: intervals hold what they promise and say something, ranks gain',
  (model, scenario, count, widest, gain) => {
    const seeds = Array.from({ length: count }, (_, at) => 1001 + at);
    const seasons = runJob({ scenario, models: [model], seeds })[model]!;
    const summary = summarize(seasons);
    expectWithin(summary.coverage, [0.88, 0.92], 'grades in 90 % intervals');
    // Of 14 observers, who are held against each other: seasons differ more.
    expectWithin(summary.severityCoverage, [0.85, 0.95], 'severity in 90 % intervals', 0.06);
    // Whole places can only hold more than they promise; an interval of all places would hold everything.
    expectWithin(summary.rankCoverage, [0.9, 0.98], 'ranks in 90 % intervals');
    expect(summary.rankWidth.mean).toBeLessThan(widest);
    const better = estimate(seasons.map(({ rho, rhoRaw }) => rho! - rhoRaw!));
    expect(better.mean + 2 * better.standardError).toBeGreaterThan(gain);
    expect(summary.error.mean).toBeLessThan(0.8 * summary.errorRaw.mean);
    expect(summary.brier.mean).toBeLessThan(0.8 * summary.brierOfEvenChance.mean);
    // Of 500 to 750 chances said, in ten classes: the mean deviation of chances that are right is 0.03 to 0.04.
    expect(summary.miscalibration).toBeLessThan(0.06);
    expect([summary.rankedTogether, summary.rankedApart]).toEqual([0, 0]);
  },
);
