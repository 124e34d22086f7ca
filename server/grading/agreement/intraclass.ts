import jstat from 'jstat';
import type { Agreement } from './agreement.ts';

/**
 * The six intraclass correlations of Shrout and Fleiss. `oneWay`: each target judged by other judges;
 * `random`: the same judges, drawn from many; `fixed`: these judges only. `single`: one judge's grade;
 * `average`: the mean of all.
 */
interface IntraclassCorrelations {
  oneWay: { single: Agreement; average: Agreement };
  random: { single: Agreement; average: Agreement };
  fixed: { single: Agreement; average: Agreement };
}

/**
 * Intraclass correlations of a full table of grades: Shrout and Fleiss (1979), "Intraclass correlations:
 * uses in assessing rater reliability", Psychological Bulletin 86(2), with their F-based intervals (for the
 * random form that of Fleiss and Shrout 1978, by Satterthwaite's degrees of freedom).
 *
 * @param grades one row a target, one column a judge.
 * @throws RangeError when rows differ in length or a grade is not finite.
 */
export function intraclassCorrelations(
  grades: readonly (readonly number[])[],
  coverage = 0.95,
): IntraclassCorrelations {
  const n = grades.length;
  const k = grades[0]?.length ?? 0;
  for (const [target, row] of grades.entries()) {
    if (row.length !== k)
      throw new RangeError(`target ${target} has ${row.length} grades, target 0 has ${k}`);
    for (const grade of row) {
      if (!Number.isFinite(grade)) throw new RangeError(`grade ${grade} of target ${target} is not finite`);
    }
  }
  const none = (reason: string): IntraclassCorrelations => {
    const pair = { single: { value: null, reason }, average: { value: null, reason } } as const;
    return { oneWay: pair, random: pair, fixed: pair };
  };
  if (n < 2) return none('needs two or more that were graded');
  if (k < 2) return none('needs two or more who graded');

  const rowMean = grades.map((row) => row.reduce((sum, value) => sum + value, 0) / k);
  const mean = rowMean.reduce((sum, value) => sum + value, 0) / n;
  const columnMean = grades[0]!.map((_, j) => grades.reduce((sum, row) => sum + row[j]!, 0) / n);
  const square = (values: readonly number[]) => values.reduce((sum, value) => sum + value * value, 0);
  const targets = (k * square(rowMean.map((value) => value - mean))) / (n - 1);
  const judgesSquares = n * square(columnMean.map((value) => value - mean));
  const judges = judgesSquares / (k - 1);
  const withinSquares = square(grades.flatMap((row, i) => row.map((value) => value - rowMean[i]!)));
  const within = withinSquares / (n * (k - 1));
  // Residuals summed rather than subtracted, so that perfect agreement gives 0 and not a rounding error.
  const error =
    square(grades.flatMap((row, i) => row.map((value, j) => value - rowMean[i]! - columnMean[j]! + mean))) /
    ((n - 1) * (k - 1));
  const scale = square(grades.flat().map((value) => value - mean));
  if (!(scale > 0)) return none('all grades are equal');

  const upper = (1 + coverage) / 2;
  const quantile = (a: number, b: number) => jstat.jStat.centralF.inv(upper, a, b);
  const method = 'F distribution';
  const exact = (noise: number, noiseFreedom: number) => {
    const f = noise > 1e-14 * scale ? targets / noise : Number.POSITIVE_INFINITY;
    const lowF = f / quantile(n - 1, noiseFreedom);
    const highF = f * quantile(noiseFreedom, n - 1);
    const single = (ratio: number) =>
      ratio === Number.POSITIVE_INFINITY ? 1 : (ratio - 1) / (ratio + k - 1);
    const average = (ratio: number) => (ratio > 0 ? 1 - 1 / ratio : Number.NEGATIVE_INFINITY);
    const of = (to: (ratio: number) => number): Agreement =>
      Number.isFinite(to(f))
        ? { value: to(f), low: to(lowF), high: to(highF), coverage, method }
        : { value: null, reason: 'the mean grades do not differ' };
    return { single: of(single), average: of(average) };
  };

  return {
    oneWay: exact(within, n * (k - 1)),
    random: randomForm({ n, k, targets, judges, error, coverage, quantile }),
    fixed: exact(error, (n - 1) * (k - 1)),
  };
}

function randomForm(at: {
  n: number;
  k: number;
  targets: number;
  judges: number;
  error: number;
  coverage: number;
  quantile: (a: number, b: number) => number;
}): { single: Agreement; average: Agreement } {
  const { n, k, targets, judges, error, coverage, quantile } = at;
  const method = "F distribution, Satterthwaite's degrees of freedom";
  const spread = targets + (k - 1) * error + (k * (judges - error)) / n;
  const averageSpread = targets + (judges - error) / n;
  const reason = 'the grades do not differ enough to tell';
  if (!(spread > 0)) return { single: { value: null, reason }, average: { value: null, reason } };
  const single = (targets - error) / spread;
  let low = single;
  let high = single;
  if (error > 0) {
    const f = judges / error;
    const a = k * single * f;
    const b = n * (1 + (k - 1) * single) - k * single;
    const freedom = ((k - 1) * (n - 1) * (a + b) ** 2) / ((n - 1) * a ** 2 + b ** 2);
    const up = quantile(n - 1, freedom);
    const down = quantile(freedom, n - 1);
    const rest = k * judges + (k * n - k - n) * error;
    low = (n * (targets - up * error)) / (up * rest + n * targets);
    high = (n * (down * targets - error)) / (rest + n * down * targets);
  }
  if (!Number.isFinite(low) || !Number.isFinite(high)) {
    return { single: { value: null, reason }, average: { value: null, reason } };
  }
  const ofMean = (value: number) => (value * k) / (1 + value * (k - 1));
  return {
    single: { value: single, low, high, coverage, method },
    average:
      averageSpread > 0 && 1 + low * (k - 1) > 0
        ? { value: (targets - error) / averageSpread, low: ofMean(low), high: ofMean(high), coverage, method }
        : { value: null, reason },
  };
}
