// @module-tag long
import { beforeAll, describe, expect, it } from 'vitest';
import { usualDecidedShare } from '../../../server/duties/decided-share.ts';
import { estimate } from '../../bench/seasons/summary.ts';
import { atRandom, type Habit, onlyWhereMarked, thorough, tired, withoutLastQuarter } from './thin-logs.ts';
import { gradeThinnedSeasons, makeTruth, type SeasonsResult, type Truth } from './thinned-seasons.ts';

// The truth is the generator's: what everybody owed on the full logs of invented games, and how often each misses it.
// A count of a thinned log is held against what that truth expects of the chances that count, beside the same of the
// full log of the same report, so that the luck of the draw is in both.

const habits: Readonly<Record<string, Habit>> = {
  thorough,
  'a tenth of the facts missing at random': atRandom(0.1),
  'tiring: three facts in ten are given up at some play': tired(0.3),
  'the last quarter missing': withoutLastQuarter,
  'three facts in ten only where a mark was made': onlyWhereMarked(0.3),
};

let truth: Truth;
beforeAll(() => {
  truth = makeTruth(20);
});

/** Misses counted for each miss that there should be, against the same of the full log. */
function missRates({ habits: found }: SeasonsResult): Map<string, number> {
  return new Map(
    [...found].map(([name, { counted, expected, fullMisses, fullExpected }]) => [
      name,
      counted / expected / (fullMisses / fullExpected),
    ]),
  );
}

describe('thinned logs', () => {
  it('give the miss rate of the full log within 5 %, and grades within their intervals as often as promised', () => {
    const result = gradeThinnedSeasons(truth, habits, {
      seasons: 4,
      games: 48,
      least: usualDecidedShare,
      seed: 1,
    });
    for (const [name, rate] of missRates(result)) {
      console.log(`${name}: ${rate.toFixed(3)} of the full log's miss rate`);
      expect(rate, name).toBeGreaterThan(0.95);
      expect(rate, name).toBeLessThan(1.05);
    }
    // 88 to 92 % are promised; seasons are independent, the officials of one are not.
    const { mean, standardError } = estimate(result.coverage);
    console.log(
      `${(100 * mean).toFixed(1)} ± ${(100 * standardError).toFixed(1)} % of 90 % intervals hold the truth`,
    );
    expect(standardError).toBeLessThan(0.03);
    expect(mean).toBeGreaterThan(0.88 - 2 * standardError);
    expect(mean).toBeLessThan(0.92 + 2 * standardError);
    // What is thin is left out, and no more than is thin.
    const kept = [...result.habits.values()].map(({ chances, fullChances }) => chances / fullChances);
    expect(kept[0]).toBeGreaterThan(0.98);
    for (const share of kept.slice(1)) {
      expect(share).toBeGreaterThan(0.6);
      expect(share).toBeLessThan(0.95);
    }
  });

  it('would tell of far more misses than there were, if duties counted however little is decided of them', () => {
    const only = { thorough, lazy: onlyWhereMarked(0.3) };
    const rates = missRates(gradeThinnedSeasons(truth, only, { seasons: 1, games: 32, least: 0, seed: 1 }));
    console.log(`counted however thin: ${rates.get('lazy')!.toFixed(3)} of the full log's miss rate`);
    expect(rates.get('lazy')).toBeGreaterThan(1.15);
  });
});
