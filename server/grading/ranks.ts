import { randomNormal } from 'd3-random';
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** Joint posterior of what is ranked (higher is better): means and covariance, square, row by row. */
export interface Posterior {
  estimates: ArrayLike<number>;
  covariance: ArrayLike<number>;
}

export interface RankOptions {
  /** The same seed gives the same figures. */
  seed: number;
  /** How many places "the top" has. */
  top: number;
  /** Draws from the posterior; 4000 when not given (a chance of 50 percent is then known to ±1.3 points). */
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
  /** Interval that holds `coverage` of the draws' ranks. */
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
  const { seed, top, draws = 4000, coverage = 0.9 } = options;
  const { estimates } = posterior;
  const size = estimates.length;
  const root = choleskyOfSemidefinite(posterior);
  let largest = 0;
  for (let i = 0; i < size; i += 1) largest = Math.max(largest, Math.abs(estimates[i]!));
  // Closer than this, two values differ only by rounding.
  const same = 1e-9 * Math.max(1, largest);

  const source = xoroshiro128plus(seed);
  const normal = randomNormal.source(() => uniformFloat64(source))();
  const counts = Array.from({ length: size }, () => new Float64Array(size + 1));
  const inTop = new Float64Array(size);
  const independent = new Float64Array(size);
  const values = new Float64Array(size);
  const order = Int32Array.from({ length: size }, (_, i) => i);
  for (let draw = 0; draw < draws; draw += 1) {
    for (let i = 0; i < size; i += 1) independent[i] = normal();
    for (let i = 0; i < size; i += 1) {
      let value = estimates[i]!;
      for (let k = 0; k <= i; k += 1) value += root[i * size + k]! * independent[k]!;
      values[i] = value;
    }
    sortDescending(order, values);
    for (let from = 0; from < size; ) {
      let to = from + 1;
      while (to < size && values[order[to - 1]!]! - values[order[to]!]! <= same) to += 1;
      const share = Math.min(1, Math.max(0, (top - from) / (to - from)));
      for (let at = from; at < to; at += 1) {
        counts[order[at]!]![from + 1]! += 1;
        inTop[order[at]!]! += share;
      }
      from = to;
    }
  }

  const tail = (1 - coverage) / 2;
  return Array.from({ length: size }, (_, i): Rank => {
    let place = 1;
    let equals = 0;
    for (let j = 0; j < size; j += 1) {
      if (estimates[j]! - estimates[i]! > same) place += 1;
      else if (j !== i && Math.abs(estimates[j]! - estimates[i]!) <= same) equals += 1;
    }
    return {
      place,
      tied: equals > 0,
      median: (quantile(counts[i]!, 0.5 * draws) + quantile(counts[i]!, 0.5 * draws + 1e-6)) / 2,
      low: quantile(counts[i]!, tail * draws),
      high: quantile(counts[i]!, (1 - tail) * draws),
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

/** Insertion sort: the order of the last draw is nearly the order of this one. */
function sortDescending(order: Int32Array, values: Float64Array): void {
  for (let i = 1; i < order.length; i += 1) {
    const item = order[i]!;
    const value = values[item]!;
    let j = i - 1;
    while (j >= 0 && values[order[j]!]! < value) {
      order[j + 1] = order[j]!;
      j -= 1;
    }
    order[j + 1] = item;
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
