import { describe, expect, it } from 'vitest';
import { exactShare } from '../../server/grading/agreement/exact-share.ts';
import { chapman, populationOf, type TwoSamples } from '../../server/grading/agreement/two-samples.ts';
import { numbersFromR } from '../support/rscript.ts';

/** As books tell it: so many in the first sample, so many in the second, so many in both. */
const samples = (first: number, second: number, both: number): TwoSamples => ({
  both,
  onlyFirst: first - both,
  onlySecond: second - both,
});

describe("Chapman's estimate and Seber's variance in print", () => {
  // Seber (1982), The Estimation of Animal Abundance, 2nd ed.: formulas on p. 60; worked in tables 3.7 and 3.8: 500
  // marked, 149 caught, 7 of them marked. R 4.2.2, (501 * 150) / 8 - 1 = 9392.750 and
  // sqrt(501 * 150 * 493 * 142 / (8^2 * 9)) = 3022.184; the book prints 9393 and 3022.
  it('Seber 1982, tables 3.7 and 3.8', () => {
    const { estimate, variance } = chapman(samples(500, 149, 7));
    expect(estimate).toBeCloseTo(9392.75, 9);
    expect(Math.sqrt(variance)).toBeCloseTo(3022.184, 3);
  });

  // Ricker (1975), Computation and Interpretation of Biological Statistics of Fish Populations, formula 3.7 and example
  // 3.1: 109 marked trout, 177 caught, 57 of them marked: 337. R 4.2.2, 110 * 178 / 58 - 1 = 336.5862.
  it('Ricker 1975, example 3.1', () => {
    expect(chapman(samples(109, 177, 57)).estimate).toBeCloseTo(336.5862, 4);
  });

  // Krebs (1989), Ecological Methodology, box 2.1: 948, 421, 167: 2383. R 4.2.2, 949 * 422 / 168 - 1 = 2382.7976.
  it('Krebs 1989, box 2.1', () => {
    expect(chapman(samples(948, 421, 167)).estimate).toBeCloseTo(2382.7976, 4);
  });

  // Pine and others (2013), in Zale and others, Fisheries Techniques, 3rd ed., box 11.2: 421, 332, 88: 1578, and by
  // estimate ± 1.96 standard errors 1330 to 1826.
  it('Pine and others 2013, box 11.2', () => {
    const { estimate, variance } = chapman(samples(421, 332, 88));
    const reach = 1.959964 * Math.sqrt(variance);
    expect([estimate, estimate - reach, estimate + reach].map(Math.round)).toEqual([1578, 1330, 1826]);
  });
});

describe('against R', () => {
  it('the estimate is without bias where the samples together reach the population, and the variance too', () => {
    // What Chapman (1951) and Seber (1970) prove: expected values over the hypergeometric distribution, here R's.
    const cases = [
      [20, 14, 9],
      [35, 30, 12],
      [60, 31, 40],
    ] as const;
    const ours = cases.map(([all, first, second]) => {
      const least = Math.max(0, first + second - all);
      const most = Math.min(first, second);
      return Array.from({ length: most - least + 1 }, (_, k) => chapman(samples(first, second, least + k)));
    });
    const code = [
      'o <- c()',
      ...cases.map(
        ([all, first, second], at) => `
        m <- max(0, ${first} + ${second} - ${all}):min(${first}, ${second})
        p <- dhyper(m, ${first}, ${all} - ${first}, ${second})
        e <- c(${ours[at]!.map(({ estimate }) => estimate)})
        v <- c(${ours[at]!.map(({ variance }) => variance)})
        o <- c(o, sum(p * e), sum(p * v), sum(p * (e - ${all})^2))`,
      ),
      'cat(format(o, digits = 15), sep = "\\n")',
    ].join('\n');
    const theirs = numbersFromR(code);
    for (const [at, [all]] of cases.entries()) {
      const [mean, meanVariance, variance] = theirs.slice(3 * at, 3 * at + 3);
      expect(mean).toBeCloseTo(all, 9);
      expect(meanVariance! / variance!).toBeCloseTo(1, 9);
    }
  });

  it('score interval of the population: its equation solved by uniroot, and beside the exact hypergeometric one', () => {
    const cases = [
      [447, 160, 128],
      [12, 4, 3],
      [30, 2, 25],
      [8, 0, 5],
      [60, 20, 22],
      [1, 6, 4],
    ] as const;
    const code = [
      'o <- c()',
      ...cases.map(
        ([both, one, other]) => `
        m <- ${both}; n1 <- m + ${one}; n2 <- m + ${other}; found <- n1 + n2 - m; z <- qnorm(0.975)
        d <- function(N) n1 * n2 / N
        s <- function(N) sqrt(n1 * n2 * (N - n1) * (N - n2) / (N^2 * (N - 1)))
        high <- uniroot(function(N) m - d(N) - 0.5 - z * s(N), c(found, 1e7), tol = 1e-9)$root
        few <- function(N) d(N) - m - 0.5 - z * s(N)
        low <- if (few(found) > 0) uniroot(few, c(found, 1e7), tol = 1e-9)$root else found
        all <- found:(50 * found)
        as.many <- phyper(m - 1, n1, all - n1, n2, lower.tail = FALSE)
        as.few <- phyper(m, n1, all - n1, n2)
        within <- all[as.many > 0.025 & as.few > 0.025]
        o <- c(o, low, high, min(within), max(within))`,
      ),
      'cat(format(o, digits = 15), sep = "\\n")',
    ].join('\n');
    const theirs = numbersFromR(code);
    for (const [at, [both, onlyFirst, onlySecond]] of cases.entries()) {
      const { low, high, found } = populationOf([{ both, onlyFirst, onlySecond }]);
      const [scoreLow, scoreHigh, exactLow, exactHigh] = theirs.slice(4 * at, 4 * at + 4);
      expect(low).toBeCloseTo(scoreLow!, 5);
      expect(high! / scoreHigh!).toBeCloseTo(1, 5);
      // The normal approximation to the exact one: close where more than a few were found by both.
      if (both < 5) continue;
      expect(Math.abs(low - exactLow!)).toBeLessThan(1 + 0.02 * found);
      expect(Math.abs(high! - exactHigh!)).toBeLessThan(2 + 0.03 * found);
    }
  });

  it('exact interval of a share: binom.test', () => {
    const cases = [
      [0, 9],
      [9, 9],
      [12, 15],
      [447, 607],
      [1, 200],
    ] as const;
    const theirs = numbersFromR(
      `o <- c(); ${cases.map(([some, of]) => `o <- c(o, binom.test(${some}, ${of})$conf.int[1:2])`).join('; ')}
       cat(format(o, digits = 15), sep = "\\n")`,
    );
    for (const [at, [some, of]] of cases.entries()) {
      const share = exactShare(some, of)!;
      expect(share.low).toBeCloseTo(theirs[2 * at]!, 7);
      expect(share.high).toBeCloseTo(theirs[2 * at + 1]!, 7);
    }
  });
});
