/**
 * Exact tests for counts of yes-or-no events. No approximations: every p-value is a finite sum of
 * probabilities. The hypergeometric and binomial probabilities are built here by the ratio of neighbouring
 * terms, starting at the mode, because the stratified test needs whole distributions to convolve and small
 * tails to full relative precision (a library's `1 - cdf` loses them).
 */

/** A finite distribution on the integers `low`, `low + 1`, ..., `low + mass.length - 1`; masses sum to 1. */
interface Distribution {
  low: number;
  mass: Float64Array;
}

function normalise(mass: Float64Array, length = mass.length): void {
  let sum = 0;
  for (let i = 0; i < length; i++) sum += mass[i]!;
  for (let i = 0; i < length; i++) mass[i]! /= sum;
}

/** Fills `mass` with the hypergeometric probabilities of `low` to `high`. */
function fillHypergeometric(
  mass: Float64Array,
  low: number,
  high: number,
  events: number,
  drawn: number,
  total: number,
): void {
  const rest = total - events - drawn;
  const mode = Math.floor(((drawn + 1) * (events + 1)) / (total + 2));
  const start = Math.min(high, Math.max(low, mode));
  mass[start - low] = 1;
  for (let k = start; k < high; k++) {
    mass[k + 1 - low] = (mass[k - low]! * ((events - k) * (drawn - k))) / ((k + 1) * (rest + k + 1));
  }
  for (let k = start; k > low; k--) {
    mass[k - 1 - low] = (mass[k - low]! * (k * (rest + k))) / ((events - k + 1) * (drawn - k + 1));
  }
  normalise(mass, high - low + 1);
}

/**
 * How many of `events` fall among `drawn` of `total` when all assignments are alike: the hypergeometric
 * distribution. Arguments are whole numbers, `0 <= events <= total`, `0 <= drawn <= total`.
 */
function hypergeometric(events: number, drawn: number, total: number): Distribution {
  const low = Math.max(0, drawn + events - total);
  const high = Math.min(events, drawn);
  const mass = new Float64Array(high - low + 1);
  fillHypergeometric(mass, low, high, events, drawn, total);
  return { low, mass };
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
  normalise(mass);
  return { low: 0, mass };
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
  let events = 0;
  let most = 1;
  let widest = 1;
  for (const { allEvents, opportunities } of strata) {
    const width = Math.min(allEvents, opportunities) + 1;
    most += width;
    if (width > widest) widest = width;
  }
  if (scratch.sum.length < most) scratch.sum = new Float64Array(2 * most);
  if (scratch.next.length < widest) scratch.next = new Float64Array(2 * widest);
  const { sum, next } = scratch;
  sum[0] = 1;
  let low = 0;
  let length = 1;
  for (const stratum of strata) {
    const { allEvents, opportunities, allOpportunities } = stratum;
    events += stratum.events;
    const from = Math.max(0, opportunities + allEvents - allOpportunities);
    const to = Math.min(allEvents, opportunities);
    const width = to - from + 1;
    low += from;
    if (width === 1) continue;
    fillHypergeometric(next, from, to, allEvents, opportunities, allOpportunities);
    // Convolution in place, from the top down, so that no entry is read after it was written.
    for (let at = length + width - 2; at >= 0; at--) {
      let value = 0;
      const last = Math.min(width - 1, at);
      for (let j = Math.max(0, at - length + 1); j <= last; j++) value += sum[at - j]! * next[j]!;
      sum[at] = value;
    }
    length += width - 1;
  }
  const distribution = { low, mass: sum.subarray(0, length) };
  return tail === 'more' ? upperTail(distribution, events) : lowerTail(distribution, events);
}

/** Reused between calls: a season makes thousands of small tests. Never kept across an `await`: all is pure. */
const scratch = { sum: new Float64Array(256), next: new Float64Array(64) };
