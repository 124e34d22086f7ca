/**
 * Exact tests for counts of yes-or-no events. No approximations: every p-value is a finite sum of
 * probabilities. The hypergeometric and binomial probabilities are built here by the ratio of neighbouring
 * terms, starting at the mode, because the stratified test needs whole distributions to convolve and small
 * tails to full relative precision (a library's `1 - cdf` loses them).
 */

/** A finite distribution on the integers `low`, `low + 1`, ..., `low + mass.length - 1`; masses sum to 1. */
export interface Distribution {
  low: number;
  mass: Float64Array;
}

function normalise(mass: Float64Array): Float64Array {
  let sum = 0;
  for (const value of mass) sum += value;
  for (let i = 0; i < mass.length; i++) mass[i]! /= sum;
  return mass;
}

/**
 * How many of `events` fall among `drawn` of `total` when all assignments are alike: the hypergeometric
 * distribution. Arguments are whole numbers, `0 <= events <= total`, `0 <= drawn <= total`.
 */
export function hypergeometric(events: number, drawn: number, total: number): Distribution {
  const low = Math.max(0, drawn + events - total);
  const high = Math.min(events, drawn);
  const mass = new Float64Array(high - low + 1);
  const mode = Math.floor(((drawn + 1) * (events + 1)) / (total + 2));
  const start = Math.min(high, Math.max(low, mode));
  mass[start - low] = 1;
  for (let k = start; k < high; k++) {
    mass[k + 1 - low] =
      (mass[k - low]! * ((events - k) * (drawn - k))) / ((k + 1) * (total - events - drawn + k + 1));
  }
  for (let k = start; k > low; k--) {
    mass[k - 1 - low] =
      (mass[k - low]! * (k * (total - events - drawn + k))) / ((events - k + 1) * (drawn - k + 1));
  }
  return { low, mass: normalise(mass) };
}

/** Number of events in `trials` independent trials of probability `rate` (0 to 1). */
export function binomial(trials: number, rate: number): Distribution {
  if (rate <= 0) return { low: 0, mass: Float64Array.of(1) };
  if (rate >= 1) return { low: trials, mass: Float64Array.of(1) };
  const mass = new Float64Array(trials + 1);
  const odds = rate / (1 - rate);
  const start = Math.min(trials, Math.floor((trials + 1) * rate));
  mass[start] = 1;
  for (let k = start; k < trials; k++) mass[k + 1] = (mass[k]! * (trials - k) * odds) / (k + 1);
  for (let k = start; k > 0; k--) mass[k - 1] = (mass[k]! * k) / ((trials - k + 1) * odds);
  return { low: 0, mass: normalise(mass) };
}

/** Distribution of the sum of two independent counts. */
export function convolve(a: Distribution, b: Distribution): Distribution {
  const mass = new Float64Array(a.mass.length + b.mass.length - 1);
  for (let i = 0; i < a.mass.length; i++) {
    const left = a.mass[i]!;
    for (let j = 0; j < b.mass.length; j++) mass[i + j]! += left * b.mass[j]!;
  }
  return { low: a.low + b.low, mass };
}

/** P(count >= `at`), never above 1. Sums the small tail first, so that tiny values keep their digits. */
export function upperTail(distribution: Distribution, at: number): number {
  const from = Math.max(0, at - distribution.low);
  let sum = 0;
  for (let i = distribution.mass.length - 1; i >= from; i--) sum += distribution.mass[i]!;
  return Math.min(1, sum);
}

/** P(count <= `at`), never above 1. */
export function lowerTail(distribution: Distribution, at: number): number {
  const to = Math.min(distribution.mass.length - 1, at - distribution.low);
  let sum = 0;
  for (let i = 0; i <= to; i++) sum += distribution.mass[i]!;
  return Math.min(1, sum);
}

export type Tail = 'more' | 'fewer';

/**
 * Exact binomial test of `events` in `trials` against a known `rate`, one-sided.
 * Agrees with R `binom.test(events, trials, rate, alternative = "greater" | "less")`.
 */
export function binomialTest(events: number, trials: number, rate: number, tail: Tail): number {
  const distribution = binomial(trials, rate);
  return tail === 'more' ? upperTail(distribution, events) : lowerTail(distribution, events);
}

/** Events among opportunities: misses of chances, model plays of chances. */
export interface Rate {
  events: number;
  opportunities: number;
}

/**
 * Fisher's exact test of two rates (Fisher 1935), one-sided: is `a`'s rate more (or fewer) than `b`'s
 * beyond chance, given all events? Agrees with R `fisher.test(alternative = "greater" | "less")`.
 */
export function fisherExactTest(a: Rate, b: Rate, tail: Tail): number {
  const distribution = hypergeometric(
    a.events + b.events,
    a.opportunities,
    a.opportunities + b.opportunities,
  );
  return tail === 'more' ? upperTail(distribution, a.events) : lowerTail(distribution, a.events);
}

/** One stratum of a comparison: what the unit did and what all, the unit included, did under like conditions. */
export interface Stratum {
  events: number;
  opportunities: number;
  allEvents: number;
  allOpportunities: number;
}

/**
 * Exact conditional test over strata (the exact Cochran-Mantel-Haenszel test: Gart 1970; Mehta, Patel and
 * Gray 1985), one-sided. Within each stratum, given how many events there were in all, the unit's share is
 * hypergeometric if it does not differ from the others; the sum over strata is the convolution of those.
 * Whatever sets the level of a stratum (a strict observer, say) cancels by the conditioning, so that no
 * model of it has to be right. Agrees with R `mantelhaen.test(exact = TRUE, alternative = "greater" | "less")`.
 */
export function stratifiedExactTest(strata: readonly Stratum[], tail: Tail): number {
  let sum: Distribution = { low: 0, mass: Float64Array.of(1) };
  let events = 0;
  for (const stratum of strata) {
    events += stratum.events;
    sum = convolve(sum, hypergeometric(stratum.allEvents, stratum.opportunities, stratum.allOpportunities));
  }
  return tail === 'more' ? upperTail(sum, events) : lowerTail(sum, events);
}
