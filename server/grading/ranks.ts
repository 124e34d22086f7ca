import type { NormalDraws } from './normal-draws.ts';

/** Joint posterior of what is ranked (higher is better): means and covariance, square, row by row. */
interface Posterior {
  estimates: ArrayLike<number>;
  covariance: ArrayLike<number>;
}

interface RankOptions {
  /** What the draws are made of: the same for every ranking of a season, so that each season draws them once. */
  normals: NormalDraws;
  /** How many places "the top" has. */
  top: number;
  /**
   * Draws from the posterior; 4000 when not given (a chance of 50 percent is then known to ±1.3 points). With 0 the
   * ranks are those of the estimates, as if nothing were uncertain.
   */
  draws?: number;
  /** Part of the draws inside the interval, 0.9 when not given. */
  coverage?: number;
}

export interface Rank {
  /** 1 + how many have a higher estimate; those with the same estimate share it. */
  place: number;
  tied: boolean;
  /** Median of the rank over the draws; half a rank when two are as likely. */
  median: number;
  /**
   * Interval that holds `coverage` of the draws' ranks, and the place too. The best estimate need not be first in most draws:
   * one of whom much is known may lie a little above many of whom nothing is known yet.
   */
  low: number;
  high: number;
  /** Probability of one of the first `top` places; a tie across the last place shares what is left of it. */
  topProbability: number;
}

/**
 * Ranks with their uncertainty, from draws of the joint posterior: Goldstein and Spiegelhalter (1996),
 * "League tables and their limitations", Journal of the Royal Statistical Society A 159(3).
 *
 * @throws RangeError when the covariance is not square to the estimates or a number is not finite.
 */
export function posteriorRanks(posterior: Posterior, options: RankOptions): Rank[] {
  const { normals, top, coverage = 0.9 } = options;
  const certain = options.draws === 0;
  const draws = certain ? 1 : (options.draws ?? 4000);
  const estimates = Float64Array.from(posterior.estimates);
  const size = estimates.length;
  const root = certain ? new Float64Array(size * size) : choleskyOfSemidefinite(posterior);
  // Closer than this, two values differ only by rounding.
  const same = 1e-9 * estimates.reduce((max, value) => Math.max(max, Math.abs(value)), 1);
  const { ranks, inTop } = countRanks(estimates, root, normals.first(draws * size), draws, top, same);

  const tail = (1 - coverage) / 2;
  return Array.from({ length: size }, (_, i): Rank => {
    let place = 1;
    let equals = 0;
    for (let j = 0; j < size; j += 1) {
      if (estimates[j]! - estimates[i]! > same) place += 1;
      else if (j !== i && Math.abs(estimates[j]! - estimates[i]!) <= same) equals += 1;
    }
    const own = ranks.subarray(i * (size + 1), (i + 1) * (size + 1));
    return {
      place,
      tied: equals > 0,
      median: (quantile(own, 0.5 * draws) + quantile(own, 0.5 * draws + 1e-6)) / 2,
      low: Math.min(place, quantile(own, tail * draws)),
      high: Math.max(place, quantile(own, (1 - tail) * draws)),
      topProbability: inTop[i]! / draws,
    };
  });
}

/** The smallest rank that at least `count` draws are at or below. */
function quantile(counts: Float64Array, count: number): number {
  let sum = 0;
  for (let rank = 1; rank < counts.length; rank += 1) {
    sum += counts[rank]!;
    if (sum >= count) return rank;
  }
  return counts.length - 1;
}

interface RankCounts {
  /** How often i came at each rank: `ranks[i × (size + 1) + rank]`. */
  ranks: Float64Array;
  /** How often in the top places. */
  inTop: Float64Array;
}

function countRanks(
  estimates: Float64Array,
  root: Float64Array,
  independent: Float64Array,
  draws: number,
  top: number,
  same: number,
): RankCounts {
  const size = estimates.length;
  const counts = { ranks: new Float64Array(size * (size + 1)), inTop: new Float64Array(size) };
  // Inserted in the order that is likeliest, there is least to move; which draw is whose does not change.
  const bestFirst = Int32Array.from(estimates.keys()).sort((a, b) => estimates[b]! - estimates[a]!);
  const drawn = { values: new Float64Array(size), owners: new Int32Array(size) };
  for (let draw = 0; draw < draws; draw += 1) {
    drawSorted(estimates, root, independent, draw * size, bestFirst, drawn);
    count(drawn, top, same, counts);
  }
  return counts;
}

/** A draw's values, highest first, and whose they are. */
interface SortedDraw {
  values: Float64Array;
  owners: Int32Array;
}

/** Draws estimates + L × (independent normal deviates from `from` on), inserting each value where it belongs. */
function drawSorted(
  estimates: Float64Array,
  root: Float64Array,
  independent: Float64Array,
  from: number,
  insertionOrder: Int32Array,
  { values, owners }: SortedDraw,
): void {
  const size = estimates.length;
  for (let n = 0; n < size; n += 1) {
    const i = insertionOrder[n]!;
    let value = estimates[i]!;
    for (let k = 0; k <= i; k += 1) value += root[i * size + k]! * independent[from + k]!;
    let at = n;
    for (; at > 0 && values[at - 1]! < value; at -= 1) {
      values[at] = values[at - 1]!;
      owners[at] = owners[at - 1]!;
    }
    values[at] = value;
    owners[at] = i;
  }
}

/** Counts a draw. Values that tie share the best of their ranks, and what is left of the top places. */
function count(
  { values, owners }: SortedDraw,
  top: number,
  same: number,
  { ranks, inTop }: RankCounts,
): void {
  const size = values.length;
  for (let from = 0; from < size; ) {
    let to = from + 1;
    while (to < size && values[to - 1]! - values[to]! <= same) to += 1;
    const share = Math.min(1, Math.max(0, (top - from) / (to - from)));
    for (let at = from; at < to; at += 1) {
      ranks[owners[at]! * (size + 1) + from + 1]! += 1;
      inTop[owners[at]!]! += share;
    }
    from = to;
  }
}

/** L with L Lᵀ = covariance; a row that the ones before it determine gets a 0 on the diagonal. */
function choleskyOfSemidefinite({ estimates, covariance }: Posterior): Float64Array {
  const size = estimates.length;
  if (covariance.length !== size * size) {
    throw new RangeError(`covariance must have ${size * size} entries for ${size} estimates`);
  }
  const root = new Float64Array(size * size);
  for (let i = 0; i < size; i += 1) {
    if (!Number.isFinite(estimates[i]!)) throw new RangeError(`estimate ${i} must be finite`);
    for (let j = 0; j <= i; j += 1) {
      let s = covariance[i * size + j]!;
      if (!Number.isFinite(s)) throw new RangeError(`covariance of ${i} and ${j} must be finite`);
      for (let k = 0; k < j; k += 1) s -= root[i * size + k]! * root[j * size + k]!;
      if (i === j) root[i * size + i] = s > 1e-12 * covariance[i * size + i]! ? Math.sqrt(s) : 0;
      else root[i * size + j] = root[j * size + j]! > 0 ? s / root[j * size + j]! : 0;
    }
  }
  return root;
}
