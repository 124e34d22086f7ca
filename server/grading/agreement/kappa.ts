import jstat from 'jstat';
import { type Agreement, bootstrapInterval } from './agreement.ts';

interface KappaOptions {
  /**
   * How near two categories are: 1 for the same, 0 for furthest apart. `linear` and `quadratic` go by the
   * distance between their numbers; nothing given means that only the same counts.
   */
  weights?: 'linear' | 'quadratic' | readonly (readonly number[])[];
  /** 0.95 when not given. */
  coverage?: number;
}

/**
 * Weighted kappa of two observers who judged the same items: Cohen (1968), "Weighted kappa", Psychological
 * Bulletin 70(4). Interval: normal, with the large-sample standard error of Fleiss, Cohen and Everitt
 * (1969), Psychological Bulletin 72(5).
 *
 * @param table counts (or shares of `items`): row = first observer's category, column = second's.
 * @param items how many items were judged; the sum of the table when not given.
 * @throws RangeError when the table is not square, or holds what is no count.
 */
export function weightedKappa(
  table: readonly (readonly number[])[],
  options: KappaOptions = {},
  items?: number,
): Agreement {
  const size = table.length;
  let total = 0;
  for (const row of table) {
    if (row.length !== size) throw new RangeError('the table of two observers must be square');
    for (const count of row) {
      if (!(count >= 0) || !Number.isFinite(count)) throw new RangeError(`${count} is not a count`);
      total += count;
    }
  }
  if (!(total > 0)) return { value: null, reason: 'no item was judged by both' };
  const weight = weightOf(options.weights, size);
  const coverage = options.coverage ?? 0.95;

  const rowShare = table.map((row) => row.reduce((sum, count) => sum + count, 0) / total);
  const columnShare = table.map((_, j) => table.reduce((sum, row) => sum + row[j]!, 0) / total);
  let observed = 0;
  let expected = 0;
  const byRow = new Array<number>(size).fill(0);
  const byColumn = new Array<number>(size).fill(0);
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) {
      const w = weight(i, j);
      observed += (w * table[i]![j]!) / total;
      expected += w * rowShare[i]! * columnShare[j]!;
      byRow[i]! += w * columnShare[j]!;
      byColumn[j]! += w * rowShare[i]!;
    }
  }
  if (1 - expected < 1e-12) return { value: null, reason: 'both observers used one category only' };
  const value = (observed - expected) / (1 - expected);
  let variance = -((observed * expected - 2 * expected + observed) ** 2);
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) {
      const part = weight(i, j) * (1 - expected) - (byRow[i]! + byColumn[j]!) * (1 - observed);
      variance += (table[i]![j]! / total) * part ** 2;
    }
  }
  const standardError = Math.sqrt(Math.max(0, variance) / (items ?? total)) / (1 - expected) ** 2;
  const reach = jstat.jStat.normal.inv((1 + coverage) / 2, 0, 1) * standardError;
  return {
    value,
    low: Math.max(-1, value - reach),
    high: Math.min(1, value + reach),
    coverage,
    method: 'normal, large-sample standard error',
  };
}

function weightOf(given: KappaOptions['weights'], size: number): (i: number, j: number) => number {
  if (given === undefined) return (i, j) => (i === j ? 1 : 0);
  if (given === 'linear') return (i, j) => 1 - Math.abs(i - j) / Math.max(1, size - 1);
  if (given === 'quadratic') return (i, j) => 1 - ((i - j) / Math.max(1, size - 1)) ** 2;
  if (given.length !== size || given.some((row) => row.length !== size)) {
    throw new RangeError(`weights must be ${size} by ${size}, as the table is`);
  }
  return (i, j) => given[i]![j]!;
}

/**
 * Kappa of several observers, not always the same ones: Fleiss (1971), "Measuring nominal scale agreement
 * among many raters", Psychological Bulletin 76(5). Interval: bootstrap over items.
 *
 * @param table for each item, how many observers put it in each category; at least two observers an item,
 *   and as many for each.
 * @throws RangeError when items have different numbers of observers.
 */
export function fleissKappa(
  table: readonly (readonly number[])[],
  options: { coverage?: number; seed?: number } = {},
): Agreement {
  if (table.length === 0) return { value: null, reason: 'no item was judged' };
  const raters = table[0]!.reduce((sum, count) => sum + count, 0);
  for (const [item, row] of table.entries()) {
    const count = row.reduce((sum, value) => sum + value, 0);
    if (count !== raters) throw new RangeError(`item ${item} has ${count} observers, item 0 has ${raters}`);
  }
  if (raters < 2) return { value: null, reason: 'no item was judged by two observers' };
  const coefficient = (sample: ArrayLike<number>) => {
    const shares = table[0]!.map(() => 0);
    let observed = 0;
    for (let s = 0; s < sample.length; s += 1) {
      let squares = 0;
      for (const [category, count] of table[sample[s]!]!.entries()) {
        shares[category]! += count / (sample.length * raters);
        squares += count * count;
      }
      observed += (squares - raters) / (raters * (raters - 1)) / sample.length;
    }
    const expected = shares.reduce((sum, share) => sum + share * share, 0);
    return 1 - expected < 1e-12 ? null : (observed - expected) / (1 - expected);
  };
  const value = coefficient(table.map((_, item) => item));
  if (value === null) return { value: null, reason: 'all observers used one category only' };
  const coverage = options.coverage ?? 0.95;
  const interval = bootstrapInterval(table.length, coefficient, coverage, options.seed ?? 1);
  if (!interval) return { value: null, reason: 'too few items that differ to give an interval' };
  return { value, coverage, ...interval };
}
