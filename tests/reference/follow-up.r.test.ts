import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';
import {
  errorOfBounds,
  nominalLevels,
  spendingBounds,
} from '../../server/patterns/follow-up/alpha-spending.ts';
import {
  type OwnCount,
  sharesOf,
  spreadDeviations,
} from '../../server/patterns/follow-up/official-spread.ts';
import { missesOverGrid, oddsGrid, ownLevel } from '../../server/patterns/follow-up/own-level.ts';

const r = (code: string): number[] =>
  execFileSync('Rscript', ['-'], {
    encoding: 'utf8',
    input: `${code}\ncat(format(o, digits = 15), sep = "\\n")`,
  })
    .trim()
    .split(/\s+/)
    .map(Number);

// Probability of meeting one-sided bounds at looks after fractions t, by the trapezoid rule over the score process:
// another rule, grid and reach than ours.
const crossing = `
  cross <- function(t, b) {
    p <- pnorm(b[1], lower.tail = FALSE); x <- seq(-9 * sqrt(t[1]), b[1] * sqrt(t[1]), length.out = 301)
    w <- function(x) { h <- x[2] - x[1]; c(h / 2, rep(h, length(x) - 2), h / 2) }
    f <- dnorm(x, sd = sqrt(t[1])) * w(x)
    if (length(t) > 1) for (k in 2:length(t)) {
      s <- sqrt(t[k] - t[k - 1]); c <- b[k] * sqrt(t[k])
      p <- p + sum(f * pnorm(c, mean = x, sd = s, lower.tail = FALSE))
      y <- seq(-9 * sqrt(t[k]), c, length.out = 301)
      f <- as.vector(outer(y, x, function(y, x) dnorm(y, x, s)) %*% f) * w(y); x <- y
    }
    p
  }`;

it('bounds of O’Brien and Fleming keep their error', () => {
  // C_B(K, 0.05) of Jennison and Turnbull 2000, Table 2.3 (after O'Brien and Fleming 1979), from memory: 1.977 (K = 2),
  // 2.004 (3), 2.024 (4), 2.040 (5), 2.087 (10); the bound at look k is C sqrt(K / k). Held against R's integral below.
  const table: [number, number][] = [
    [2, 1.977],
    [3, 2.004],
    [4, 2.024],
    [5, 2.04],
    [10, 2.087],
  ];
  const code = [crossing, 'o <- c()'];
  const ours = table.map(([looks, constant]) => {
    const fractions = Array.from({ length: looks }, (_, k) => (k + 1) / looks);
    const bounds = fractions.map((fraction) => constant / Math.sqrt(fraction));
    code.push(`o <- c(o, cross(c(${fractions}), c(${bounds})))`);
    return errorOfBounds(fractions, bounds);
  });
  const theirs = r(code.join('\n'));
  for (const [i, error] of ours.entries()) {
    expect(Math.abs(error - theirs[i]!)).toBeLessThan(2e-5);
    // Both sides of the table's three decimals: 0.001 of the constant is 6e-5 of the error.
    expect(Math.abs(error - 0.025)).toBeLessThan(1e-4);
  }
});

it('spends over looks at any fractions as Lan and DeMets 1983 have it', () => {
  // Five equal looks, one-sided 0.025: 4.877, 3.357, 2.680, 2.290, 2.031, as programs for group sequential designs
  // print them; from memory, held against R's integral and root below.
  const equal = [0.2, 0.4, 0.6, 0.8, 1];
  for (const [k, bound] of [4.877, 3.357, 2.68, 2.29, 2.031].entries())
    expect(Math.abs(spendingBounds(equal, 0.025)[k]! - bound)).toBeLessThan(6e-4);
  const cases: [number[], number][] = [
    [equal, 0.025],
    [[0.3, 0.45, 0.5, 0.85, 1], 0.05],
    [[0.25, 0.6, 0.62, 0.9], 0.05],
  ];
  const code = [
    crossing,
    `bounds <- function(t, a) {
       spent <- 2 * pnorm(qnorm(a / 2) / sqrt(t)); b <- c()
       for (k in seq_along(t)) b[k] <- uniroot(function(z) cross(t[1:k], c(b, z)) - spent[k], c(0.5, 8), tol = 1e-7)$root
       pnorm(b, lower.tail = FALSE)
     }
     o <- c()`,
    ...cases.map(([fractions, level]) => `o <- c(o, bounds(c(${fractions}), ${level}))`),
  ];
  const theirs = r(code.join('\n'));
  const ours = cases.flatMap(([fractions, level]) => nominalLevels(fractions, level));
  expect(theirs).toHaveLength(ours.length);
  for (const [i, value] of ours.entries()) expect(Math.abs(value / theirs[i]! - 1)).toBeLessThan(2e-3);
});

it('an official’s misses given peers’, by R’s integrate', () => {
  const row = (official: string, observer: string, misses: number, opportunities: number) => ({
    official,
    observer,
    misses,
    opportunities,
    model: 0,
    position: 'umpire',
    crew: '',
    game: `${official}${observer}`,
    week: 1,
    duty: 'd',
  });
  const own = [row('x', 'a', 0, 9), row('x', 'b', 0, 7)];
  const peers = [row('y', 'a', 4, 30), row('z', 'b', 1, 25), row('z', 'c', 2, 40)];
  const severity = { factors: { a: 0.3, b: -0.2, c: 0.1 }, variance: 0.3 };
  const level = ownLevel(own, peers, { severity, gameVariance: 0.4 });
  const at = 38; // log odds ratio 1.2
  const [ours] = missesOverGrid(level, (i) => i === at).filter((mass) => mass !== null);
  const theirs = r(`
    usual <- qlogis((4 + 1 + 2 + 0.5) / (30 * exp(0.3) + 25 * exp(-0.2) + 40 * exp(0.1) + 1))
    one <- function(n, x, N, m) {
      peers <- function(e) integrate(function(g) dnorm(g, 0, sqrt(0.4)) * dbinom(x, N, plogis(usual + e + g)),
        -6, 6, rel.tol = 1e-10)$value # all that the observer saw of the peers in one game
      f <- function(e) dnorm(e, m, sqrt(0.3)) * sapply(e, peers)
      whole <- integrate(f, m - 6, m + 6, rel.tol = 1e-10)$value
      sapply(0:n, function(k) integrate(function(e) f(e) * dbinom(k, n, plogis(usual + e + ${oddsGrid[at]})),
        m - 6, m + 6, rel.tol = 1e-10)$value / whole)
    }
    o <- convolve(one(9, 4, 30, 0.3), rev(one(7, 1, 25, -0.2)), type = "open")`);
  expect(ours).toHaveLength(theirs.length);
  for (const [k, mass] of ours!.entries()) expect(Math.abs(mass - theirs[k]!)).toBeLessThan(2e-5);
});

it('the spread of officials is of greatest likelihood, by R’s optim', () => {
  // R's own data: InsectSprays, insects per plot, as misses beside their mean; a spread far beyond chance.
  const counts = [
    10, 7, 20, 14, 14, 12, 10, 23, 17, 20, 14, 13, 11, 17, 21, 11, 16, 14, 17, 17, 19, 21, 7, 13,
  ];
  counts.push(0, 1, 7, 2, 3, 1, 2, 1, 3, 0, 1, 4, 3, 5, 12, 6, 4, 3, 5, 5, 5, 5, 2, 4);
  counts.push(3, 5, 3, 5, 3, 6, 1, 1, 3, 2, 6, 4, 11, 9, 15, 22, 15, 16, 13, 10, 26, 26, 24, 13);
  const mean = counts.reduce((a, b) => a + b, 0) / counts.length;
  const own = counts.map((misses): OwnCount => ({ misses, usual: mean, variance: 0 }));
  const shares = sharesOf(own, 10);
  const likelihood = `
    x <- InsectSprays$count; m <- mean(x); s <- c(0.06, ${spreadDeviations.slice(1)})
    grid <- seq(-4.5, 4.5, by = 0.15)
    l <- sapply(s, function(d) { p <- dnorm(grid, 0, d); p <- p / sum(p); sapply(x, function(k) sum(p * dpois(k, m * exp(grid)))) })
    fit <- function(w) sum(log(l %*% w)) + 10 * log(max(w[1], 1e-300))
    soft <- function(u) { w <- exp(c(0, u)); w / sum(w) }`;
  const [best, given, rows] = r(`${likelihood}
    top <- optim(rep(0, 5), function(u) -fit(soft(u)), method = "BFGS", control = list(maxit = 2000, reltol = 1e-13))
    o <- c(-top$value, fit(c(${shares.map((share) => Math.max(share, 1e-300))})), length(x))`);
  expect(rows).toBe(counts.length);
  expect(given!).toBeGreaterThan(best! - 1e-3);
  expect(given!).toBeLessThan(best! + 1e-3);
});
