import { describe, expect, it } from 'vitest';
import { binomialTest, fisherExactTest, stratifiedExactTest } from '../../server/patterns/exact-tests.ts';
import { permutedShare, permutedTrend } from '../../server/patterns/game-permutation.ts';
import { wilsonInterval } from '../../server/patterns/wilson-interval.ts';
import { numbersFromR } from '../support/rscript.ts';

describe('against R itself', () => {
  /** Small seeded generator, so that each run asks R the same questions. */
  function seeded(seed: number) {
    let state = seed;
    return (below: number) => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return Math.floor((state / 2 ** 32) * below);
    };
  }

  it('stratified exact test, Fisher, binomial, Wilson: 60 random cases each', () => {
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
    }
    code.push('cat(format(o, digits = 15), sep = "\\n")');
    const theirs = numbersFromR(code.join('\n'));
    expect(theirs).toHaveLength(ours.length);
    for (const [i, value] of ours.entries()) {
      const target = theirs[i]!;
      expect(Math.abs(value - target), `case ${i}: ours ${value}, R ${target}`).toBeLessThan(
        1e-7 * Math.max(target, 1e-6) + 1e-12,
      );
    }
  });

  it("stratified exact test on R's own UCBAdmissions (Bickel, Hammel and O'Connell 1975), with and without department A", () => {
    const theirs = numbersFromR(`
      tails <- function(x) c(mantelhaen.test(x, exact = TRUE, alternative = "greater")$p.value,
                             mantelhaen.test(x, exact = TRUE, alternative = "less")$p.value)
      cat(format(c(UCBAdmissions, tails(UCBAdmissions), tails(UCBAdmissions[, , -1])), digits = 15), sep = "\\n")`);
    // Admitted and rejected men, admitted and rejected women, department by department.
    const departments = Array.from({ length: 6 }, (_, k) => {
      const [men, menOut, women, womenOut] = theirs.slice(4 * k, 4 * k + 4) as [
        number,
        number,
        number,
        number,
      ];
      const opportunities = men + menOut;
      return {
        events: men,
        opportunities,
        allEvents: men + women,
        allOpportunities: opportunities + women + womenOut,
      };
    });
    expect(departments[0]).toMatchObject({ events: 512, opportunities: 825 }); // as printed in the paper
    const ours = [departments, departments.slice(1)].flatMap((strata) => [
      stratifiedExactTest(strata, 'more'),
      stratifiedExactTest(strata, 'fewer'),
    ]);
    for (const [i, p] of ours.entries())
      expect(Math.abs(p - theirs[24 + i]!), `tail ${i}`).toBeLessThan(1e-9);
  });

  it("a trend over few games: of ranks it is Spearman's exact test, cor.test; of any values all orders, counted in R", () => {
    const next = seeded(11);
    const ours: number[] = [];
    const code = [
      'o <- c()',
      'orders <- function(v) if (length(v) <= 1) list(v) else do.call(c, lapply(seq_along(v), function(i) lapply(orders(v[-i]), function(w) c(v[i], w))))',
      'counted <- function(w, v) { s <- sapply(orders(v), function(p) abs(sum((w - mean(w)) * p))); mean(s >= abs(sum((w - mean(w)) * v)) - 1e-9) }',
    ];
    const series = (values: readonly number[], weeks = values.map((_, i) => i + 1)) => [
      values.map((more, i) => ({ week: weeks[i]!, more })),
    ];
    for (let i = 0; i < 12; i++) {
      const ranks = Array.from({ length: 5 + (i % 3) }, (_, k) => k + 1);
      for (let k = ranks.length - 1; k > 0; k--) {
        const j = next(k + 1);
        [ranks[k], ranks[j]] = [ranks[j]!, ranks[k]!];
      }
      code.push(
        `o <- c(o, cor.test(1:${ranks.length}, c(${ranks}), method = "spearman", exact = TRUE)$p.value)`,
      );
      ours.push(permutedTrend(series(ranks)).pValue);
    }
    for (let i = 0; i < 4; i++) {
      const values = Array.from({ length: 4 + (i % 3) }, () => next(9) - 4);
      const weeks = values.map((_, k) => 2 * k + next(2)); // uneven, as an official's weeks are
      code.push(`o <- c(o, counted(c(${weeks}), c(${values})))`);
      ours.push(permutedTrend(series(values, weeks)).pValue);
    }
    const theirs = numbersFromR([...code, 'cat(format(o, digits = 15), sep = "\\n")'].join('\n'));
    expect(theirs).toHaveLength(ours.length);
    for (const [i, p] of ours.entries()) expect(p, `case ${i}`).toBeCloseTo(theirs[i]!, 9);
  });

  it('drawn orders: of two observers within each, against all 576 in R; of games chosen, against wilcox.test', () => {
    const first = [4, 1, 2, -3];
    const second = [3, 0, 1, -2];
    const own = [19, 12, 17, 15];
    const others = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 14, 16, 18];
    const [within, chosen] = numbersFromR(`
      orders <- function(v) if (length(v) <= 1) list(v) else do.call(c, lapply(seq_along(v), function(i) lapply(orders(v[-i]), function(w) c(v[i], w))))
      w <- 1:4 - 2.5
      a <- sapply(orders(c(${first})), function(p) sum(w * p)); b <- sapply(orders(c(${second})), function(p) sum(w * p))
      seen <- abs(sum(w * c(${first})) + sum(w * c(${second})))
      cat(mean(abs(outer(a, b, "+")) >= seen - 1e-9),
          wilcox.test(c(${own}), c(${others}), alternative = "greater", exact = TRUE)$p.value)`) as [
      number,
      number,
    ];
    const games = (values: readonly number[]) => values.map((more, i) => ({ week: i + 1, more }));
    // 2,000 beyond: a standard error of 2.2 % of the p-value; allowed are four.
    const drawn = permutedTrend([games(first), games(second)], 2000, 50_000);
    expect(Math.abs(drawn.pValue / within - 1)).toBeLessThan(0.09);
    expect(Math.abs(permutedShare(own, others, 400) / chosen - 1)).toBeLessThan(0.2);
  });
});
