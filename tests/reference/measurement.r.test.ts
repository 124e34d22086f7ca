// @module-tag rest
import { describe, expect, test } from 'vitest';
import { andersenTest } from '../../server/measurement/andersen-test.ts';
import { analyseItems } from '../../server/measurement/item-analysis.ts';
import { likeliestMeasure, weightedMeasure } from '../../server/measurement/person-measure.ts';
import { fitRasch, type RaschFit } from '../../server/measurement/rasch.ts';
import type { Scored } from '../../server/measurement/scored.ts';
import { numbersFromR } from '../support/rscript.ts';

/**
 * Rasch difficulties, person measures and classical item figures beside R's packages eRm 1.0-2 (RM, person.parameter,
 * LRtest) and psych 2.2.9 (alpha), which run here. Data: section 6 of the Law School Admission Test (Bock and Lieberman
 * 1970, Psychometrika 35) as psych ships it (`bock`, lsat6), and eRm's raschdat1.
 */
const load = {
  lsat6: 'suppressMessages({library(eRm); library(psych)}); data(bock); x <- as.matrix(lsat6)',
  raschdat1: 'suppressMessages({library(eRm); library(psych)}); x <- as.matrix(raschdat1)',
} as const;
const print = 'options(warn = -1); p <- function(v) cat(format(v, digits = 15), "\n")';

function dataOf(name: keyof typeof load, change = ''): Scored[] {
  const [rows, items, ...cells] = numbersFromR(
    `${load[name]}\n${change}\nx[is.na(x)] <- 9; cat(dim(x), as.vector(t(x)))`,
  ) as [number, number, ...number[]];
  return Array.from({ length: rows }, (_, row) =>
    cells.slice(row * items, (row + 1) * items).map((cell) => (cell === 9 ? null : (cell as 0 | 1))),
  );
}

function fitted(people: readonly Scored[]): RaschFit {
  const fit = fitRasch(people, people[0]!.length);
  if ('reason' in fit) throw new Error(fit.reason);
  return fit;
}

function close(ours: readonly (number | null)[], theirs: readonly number[], digits: number) {
  expect(ours).toHaveLength(theirs.length);
  for (const [at, value] of ours.entries()) expect(value, `number ${at}`).toBeCloseTo(theirs[at]!, digits);
}

// Half of the people were asked the last twenty questions, half the first twenty: ten link the sets.
const twoSets = 'n <- nrow(x); x[seq(1, n, 2), 1:10] <- NA; x[seq(2, n, 2), 21:30] <- NA';

describe.each([
  ['lsat6', ''],
  ['raschdat1', ''],
  ['raschdat1', twoSets],
] as const)('%s %s', (name, change) => {
  const people = dataOf(name, change);
  const items = people[0]!.length;

  test('difficulties, their standard errors and the conditional log-likelihood', () => {
    const theirs = numbersFromR(
      `${load[name]}\n${change}\n${print}; m <- RM(x); p(-m$betapar); p(m$se.beta); p(m$loglik)`,
    );
    const ours = fitted(people);
    // eRm stops its search a little before the maximum; ours is no lower than where it stops.
    expect(ours.logLikelihood).toBeGreaterThan(theirs.at(-1)! - 1e-6);
    const digits = change === '' ? 4 : 3;
    close(
      ours.difficulties.map((one) => one!.value),
      theirs.slice(0, items),
      digits,
    );
    close(
      ours.difficulties.map((one) => one!.se),
      theirs.slice(items, 2 * items),
      digits,
    );
    expect(ours.logLikelihood).toBeCloseTo(theirs.at(-1)!, digits);
  });
});

test('the published totals of LSAT section 6', () => {
  const people = dataOf('lsat6');
  expect([0, 1, 2, 3, 4].map((item) => people.filter((one) => one[item] === 1).length)).toEqual([
    924, 709, 553, 763, 870,
  ]);
});

describe.each(['lsat6', 'raschdat1'] as const)('%s', (name) => {
  const people = dataOf(name);
  const items = people[0]!.length;

  test('person measures by maximum likelihood', () => {
    const theirs = numbersFromR(
      `${load[name]}; ${print}; m <- RM(x); pp <- person.parameter(m); t <- data.frame(r = rowSums(pp$X.ex), th = pp$thetapar[[1]], se = pp$se.theta[[1]]); t <- unique(t[order(t$r), ]); p(as.vector(t(as.matrix(t))))`,
    );
    const difficulties = fitted(people).difficulties.map((one) => one!.value);
    expect(theirs.length).toBeGreaterThanOrEqual(12);
    for (let at = 0; at < theirs.length; at += 3) {
      const [right, value, se] = theirs.slice(at, at + 3) as [number, number, number];
      const ours = likeliestMeasure(difficulties, right)!;
      expect(ours.value, `${right} right`).toBeCloseTo(value, 4);
      expect(ours.se, `${right} right`).toBeCloseTo(se, 4);
    }
  });

  test('weighted likelihood at every score, none and all among them, as R’s own optimizer finds it', () => {
    // No package of Debian's has Warm's estimate: his weighted likelihood is written out in R and maximised there.
    const theirs = numbersFromR(`${load[name]}; ${print}; b <- -RM(x)$betapar
      p(sapply(0:length(b), function(r) optimize(function(t) {
        q <- plogis(t - b); r * t + sum(log(1 - q)) + log(sum(q * (1 - q))) / 2
      }, c(-9, 9), maximum = TRUE, tol = 1e-10)$maximum))`);
    const difficulties = fitted(people).difficulties.map((one) => one!.value);
    close(
      Array.from({ length: items + 1 }, (_, right) => weightedMeasure(difficulties, right).value),
      theirs,
      4,
    );
  });

  test("Andersen's test, split at the mean", () => {
    const [statistic, degrees, p] = numbersFromR(
      `${load[name]}; ${print}; t <- LRtest(RM(x), splitcr = "mean"); p(t$LR); p(t$df); p(t$pvalue)`,
    );
    const ours = andersenTest(people, items);
    if ('reason' in ours) throw new Error(ours.reason);
    expect(ours.degrees).toBe(degrees);
    expect(ours.statistic).toBeCloseTo(statistic!, 3);
    expect(ours.p).toBeCloseTo(p!, 4);
  });

  test('Kuder and Richardson’s formula 20, point-biserial and corrected item-rest correlations', () => {
    const theirs = numbersFromR(
      `${load[name]}; ${print}; a <- alpha(as.data.frame(x), check.keys = FALSE, warnings = FALSE)
       p(a$total$raw_alpha); p(a$item.stats$raw.r); rest <- sapply(1:ncol(x), function(i) cor(x[, i], rowSums(x[, -i]))); p(rest)`,
    );
    const found = analyseItems(
      people.map((answers) => answers.map((one) => ({ chosen: [one!], right: one === 1 }))),
      new Array(items).fill(2),
    );
    expect(found.reliability!.value).toBeCloseTo(theirs[0]!, 10);
    close(
      found.items.map(({ pointBiserial }) => pointBiserial),
      theirs.slice(1, items + 1),
      10,
    );
    close(
      found.items.map(({ itemRest }) => itemRest),
      theirs.slice(items + 1),
      10,
    );
  });
});
