import { expect, test } from 'vitest';
import type { Agreement } from '../../server/grading/agreement/agreement.ts';
import { fleissKappa } from '../../server/grading/agreement/kappa.ts';
import { krippendorffAlpha } from '../../server/grading/agreement/krippendorff.ts';
import { numbersFromR } from '../support/rscript.ts';

function known(agreement: Agreement) {
  if (agreement.value === null) throw new Error(agreement.reason);
  return agreement;
}

const inR = (value: number | null) => value ?? 'NA';

// Fleiss (1971), "Measuring nominal scale agreement among many raters", table 1: 30 patients, six psychiatrists each, five
// diagnoses. He prints the column sums 26, 26, 30, 55, 43 and κ = .430; recomputed here by R, from pairs of psychiatrists.
test("Fleiss' kappa", () => {
  const table = [
    '00060 03003 01401 00006 03030 20400 00402 20310 20040 00006',
    '10050 11040 03300 10050 02031 00501 30012 51000 02040 10203',
    '00006 01050 02013 20040 10041 05010 40002 02040 10500 00006',
  ].flatMap((line) => line.split(' ').map((item) => [...item].map(Number)));
  const [kappa, ...sums] = numbersFromR(`
    x <- matrix(c(${table.flat()}), ncol = 5, byrow = TRUE)
    alike <- apply(x, 1, function(row) { who <- rep(1:5, row); mean(outer(who, who, "==")[upper.tri(diag(6))]) })
    chance <- sum(prop.table(colSums(x))^2)
    cat(format(c((mean(alike) - chance) / (1 - chance), colSums(x)), digits = 15))`);
  expect(sums).toEqual([26, 26, 30, 55, 43]);
  expect(kappa).toBeCloseTo(0.43, 3);
  const ours = known(fleissKappa(table));
  expect(ours.value).toBeCloseTo(kappa!, 12);
  expect(ours.low).toBeGreaterThan(0.3);
  expect(ours.high).toBeLessThan(0.56);
});

// Krippendorff (2011), "Computing Krippendorff's Alpha-Reliability", section C: 4 observers, 12 units, missing cells; the
// same data stand in the help of R package irr. He prints .743, .815 and .849; recomputed here by R, from his definition:
// one less mean difference within units over mean difference between any two values.
test("Krippendorff's alpha with missing cells", () => {
  const observers = [
    [1, 2, 3, 3, 2, 1, 4, 1, 2, null, null, null],
    [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, null, 3],
    [null, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, null],
    [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, null],
  ];
  const units = observers[0]!.map((_, u) => observers.map((row) => row[u]!));
  const theirs = numbersFromR(`
    units <- lapply(split(c(${units.flat().map(inR)}), rep(1:12, each = 4)), function(u) u[!is.na(u)])
    units <- units[lengths(units) > 1]
    all <- unlist(units)
    between <- function(a, b) { r <- sort(c(a, b)); sum(all >= r[1] & all <= r[2]) - (sum(all == a) + sum(all == b)) / 2 }
    differences <- list(nominal = function(a, b) a != b, ordinal = function(a, b) if (a == b) 0 else between(a, b)^2,
                        interval = function(a, b) (a - b)^2)
    for (d in differences) {
      over <- function(u) sum(outer(seq_along(u), seq_along(u), Vectorize(function(i, j) d(u[i], u[j]))))
      within <- sum(sapply(units, function(u) over(u) / (length(u) - 1))) / length(all)
      cat(format(1 - within / (over(all) / (length(all) * (length(all) - 1))), digits = 15), "")
    }`);
  const levels = ['nominal', 'ordinal', 'interval'] as const;
  for (const [at, printed] of [0.743, 0.815, 0.849].entries()) {
    expect(theirs[at]).toBeCloseTo(printed, 3);
    expect(known(krippendorffAlpha(units, levels[at]!)).value, levels[at]).toBeCloseTo(theirs[at]!, 12);
  }
});
