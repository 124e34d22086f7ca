import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { binomialTest, fisherExactTest, stratifiedExactTest } from '../../server/patterns/exact-tests.ts';
import { mannKendall } from '../../server/patterns/mann-kendall.ts';
import { wilsonInterval } from '../../server/patterns/wilson-interval.ts';

function rscript(code: string): number[] | null {
  try {
    const out = execFileSync('Rscript', ['-'], { encoding: 'utf8', input: code });
    return out.trim().split(/\s+/).map(Number);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT' && !process.env.CI) return null;
    throw error;
  }
}

describe('against R itself', () => {
  /** Small seeded generator, so that each run asks R the same questions. */
  function seeded(seed: number) {
    let state = seed;
    return (below: number) => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return Math.floor((state / 2 ** 32) * below);
    };
  }

  it('stratified exact test, Fisher, binomial, Wilson, trend: 60 random cases each', (context) => {
    const next = seeded(7);
    const code: string[] = ['o <- c()'];
    const ours: number[] = [];
    for (let i = 0; i < 60; i++) {
      const strata = Array.from({ length: 2 + next(5) }, () => {
        const own = 1 + next(30);
        const others = 1 + next(90);
        const events = next(Math.min(own, 12) + 1);
        const othersEvents = next(Math.min(others, 20) + 1);
        return { own, others, events, othersEvents };
      });
      // R refuses a table whose events are all or none in every stratum; the first stratum prevents it.
      strata[0] = { own: 20, others: 50, events: 1 + next(8), othersEvents: 1 + next(9) };
      const cells = strata.flatMap((s) => [
        s.events,
        s.othersEvents,
        s.own - s.events,
        s.others - s.othersEvents,
      ]);
      for (const tail of ['more', 'fewer'] as const) {
        const alternative = tail === 'more' ? 'greater' : 'less';
        code.push(
          `o <- c(o, mantelhaen.test(array(c(${cells}), c(2,2,${strata.length})), exact=TRUE, alternative="${alternative}")$p.value)`,
        );
        ours.push(
          stratifiedExactTest(
            strata.map((s) => ({
              events: s.events,
              opportunities: s.own,
              allEvents: s.events + s.othersEvents,
              allOpportunities: s.own + s.others,
            })),
            tail,
          ),
        );
        const [first] = strata;
        code.push(
          `o <- c(o, fisher.test(matrix(c(${cells.slice(0, 4)}),2), alternative="${alternative}")$p.value)`,
        );
        ours.push(
          fisherExactTest(
            { events: first!.events, opportunities: first!.own },
            { events: first!.othersEvents, opportunities: first!.others },
            tail,
          ),
        );
        const rate = (1 + next(40)) / 100;
        code.push(
          `o <- c(o, binom.test(${first!.events}, ${first!.own}, ${rate}, alternative="${alternative}")$p.value)`,
        );
        ours.push(binomialTest(first!.events, first!.own, rate, tail));
      }
      const opportunities = 1 + next(200);
      const events = next(opportunities + 1);
      const interval = wilsonInterval(events, opportunities);
      code.push(
        `o <- c(o, suppressWarnings(prop.test(${events}, ${opportunities}, correct=FALSE))$conf.int[1:2])`,
      );
      ours.push(interval.low, interval.high);

      const distinct = Array.from({ length: 4 + next(9) }, (_, k) => k * 3 + next(20) + k / 64);
      const tied = Array.from({ length: 5 + next(9) }, (_, k) => Math.floor(k / 3) + next(4));
      tied[0] = 0;
      tied[1] = 9;
      tied[2] = 9;
      code.push(
        `x <- c(${distinct}); o <- c(o, cor.test(seq_along(x), x, method="kendall", exact=TRUE)$p.value)`,
        `x <- c(${tied}); o <- c(o, cor.test(seq_along(x), x, method="kendall", exact=FALSE, continuity=TRUE)$p.value)`,
      );
      // R leaves the correction on S = 0, where there is nothing to correct: compare only off zero.
      const trend = mannKendall(tied);
      ours.push(mannKendall(distinct).pValue, trend.s === 0 ? Number.NaN : trend.pValue);
    }
    code.push('cat(format(o, digits = 15), sep = "\\n")');
    const theirs = rscript(code.join('\n'));
    if (!theirs) return context.skip('Rscript is not installed');
    expect(theirs).toHaveLength(ours.length);
    for (const [i, value] of ours.entries()) {
      if (Number.isNaN(value)) continue;
      const target = theirs[i]!;
      expect(Math.abs(value - target), `case ${i}: ours ${value}, R ${target}`).toBeLessThan(
        1e-7 * Math.max(target, 1e-6) + 1e-12,
      );
    }
  });
});
