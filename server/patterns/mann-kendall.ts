import jstat from 'jstat';

export type Direction = 'rising' | 'falling' | 'no clear trend';

export interface Trend {
  direction: Direction;
  /** Kendall's S: pairs that rise less pairs that fall. */
  s: number;
  /** Variance of S under no trend, corrected for ties. */
  variance: number;
  /** Two-sided. */
  pValue: number;
  /** How the p-value was reached. `too few` below four values, where no order can convince (p = 1). */
  method: 'exact' | 'normal with tie correction' | 'too few';
}

const longestExactSeries = 50;

/** Orders of 1..n by number of inversions, as probabilities. */
function inversionDistribution(n: number): Float64Array {
  let mass: Float64Array = Float64Array.of(1);
  for (let size = 2; size <= n; size++) {
    const next = new Float64Array(mass.length + size - 1);
    for (let i = 0; i < mass.length; i++) {
      for (let j = 0; j < size; j++) next[i + j]! += mass[i]! / size;
    }
    mass = next;
  }
  return mass;
}

/**
 * Mann-Kendall test for a trend (Mann 1945; Kendall 1975) in values ordered by time. Without ties and up to
 * 50 values the p-value is exact; else the normal approximation with continuity correction and the variance
 * corrected for ties. Agrees with R `cor.test(time, values, method = "kendall")` in both.
 *
 * @param values one per week, in order; weeks without a value are left out by the caller
 * @param level two-sided level at which a direction is named
 */
export function mannKendall(values: readonly number[], level = 0.05): Trend {
  const n = values.length;
  for (const [i, value] of values.entries()) {
    if (!Number.isFinite(value)) throw new RangeError(`value ${i} of the series is ${value}, not a number`);
  }
  let s = 0;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) s += Math.sign(values[j]! - values[i]!);
  }
  const tied = new Map<number, number>();
  for (const value of values) tied.set(value, (tied.get(value) ?? 0) + 1);
  let variance = n * (n - 1) * (2 * n + 5);
  for (const t of tied.values()) variance -= t * (t - 1) * (2 * t + 5);
  variance /= 18;
  const hasTies = tied.size < n;

  if (n < 4) return { direction: 'no clear trend', s, variance, pValue: 1, method: 'too few' };
  let pValue: number;
  let method: Trend['method'];
  if (!hasTies && n <= longestExactSeries) {
    method = 'exact';
    const mass = inversionDistribution(n);
    // S = pairs - 2 * inversions; P(|S| >= |s|) is twice the tail with few inversions.
    const most = (n * (n - 1)) / 2;
    const cut = Math.floor((most - Math.abs(s)) / 2);
    let tail = 0;
    for (let i = 0; i <= cut; i++) tail += mass[i]!;
    pValue = Math.min(1, 2 * tail);
  } else {
    method = 'normal with tie correction';
    const z = variance > 0 ? Math.max(0, Math.abs(s) - 1) / Math.sqrt(variance) : 0;
    pValue = Math.min(1, 2 * jstat.jStat.normal.cdf(-z, 0, 1));
  }
  const direction = pValue > level || s === 0 ? 'no clear trend' : s > 0 ? 'rising' : 'falling';
  return { direction, s, variance, pValue, method };
}
