import type { CountRow } from '../counts.ts';
import { normalOnGrid, oddsGrid } from './own-level.ts';
import { type Severity, severityOf } from './severity.ts';

/** How much a season's officials, games and observers differ at a duty: what a point is followed with. */
export interface OfficialSpread {
  /** Share of officials and duties by `spreadDeviations`; they add up to 1. */
  shares: number[];
  /** Variance of a game's own effect on log odds, with a margin. */
  gameVariance: number;
  severity: Severity;
}

/** Standard deviations of the mixture's parts: from officials all alike to one who hardly knows the duty. */
export const spreadDeviations: readonly number[] = [0, 0.25, 0.5, 0.8, 1.2, 1.8];

/**
 * The estimate is too low and, of half a season, uncertain: half as much again and a little are added, so that "fewer"
 * is not said of one kind evening. Simulated (games .5, days .3 on the log-odds, so .34 true), 25 seasons gave .05 to
 * .57 after six weeks and .05 to .39 after twelve, .24 and .22 on average.
 */
const withMargin = (gameVariance: number) => 1.5 * gameVariance + 0.05;

/** As if so many officials more had been seen who are like their peers: few data shall not invent a spread. */
const alikeBeforehand = 10;

/** One official's misses at one duty, what peers' rate would give, and the variance of that on the log scale. */
export interface OwnCount {
  misses: number;
  usual: number;
  variance: number;
}

/**
 * Likelihood of a count, Poisson around the usual one, under each part of the mixture; up to one factor. The whole
 * model of `ownLevel` would take ten times as long for the same shares.
 */
function likelihoodByPart({ misses, usual, variance }: OwnCount, priors: Priors): Float64Array {
  const most = misses > 0 ? misses * (Math.log(misses / usual) - 1) : 0;
  const likelihood = new Float64Array(oddsGrid.length);
  for (let i = 0; i < likelihood.length; i++)
    likelihood[i] = Math.exp(misses * oddsGrid[i]! - usual * ratios[i]! - most);
  const parts = new Float64Array(spreadDeviations.length);
  for (const [part, prior] of priors(variance).entries()) {
    let sum = 0;
    for (let i = 0; i < prior.length; i++) sum += prior[i]! * likelihood[i]!;
    parts[part] = Math.max(sum, Number.MIN_VALUE);
  }
  return parts;
}
const ratios = oddsGrid.map((value) => Math.exp(value));

/** The mixture's parts on the grid, widened by a variance; to two decimals, so that few have to be made. */
type Priors = (variance: number) => Float64Array[];
function keptPriors(): Priors {
  const kept = new Map<number, Float64Array[]>();
  return (variance) => {
    const rounded = Math.round(variance * 100);
    let priors = kept.get(rounded);
    if (!priors) {
      priors = spreadDeviations.map((deviation) => normalOnGrid(0, deviation ** 2 + rounded / 100));
      kept.set(rounded, priors);
    }
    return priors;
  };
}

/** Shares of greatest likelihood, by expectation and maximisation (Dempster, Laird and Rubin 1977). */
export function sharesOf(counts: readonly OwnCount[], alike = alikeBeforehand): number[] {
  const priors = keptPriors();
  const parts = spreadDeviations.length;
  const likelihoods = new Float64Array(counts.length * parts);
  for (const [i, count] of counts.entries()) likelihoods.set(likelihoodByPart(count, priors), i * parts);
  let shares = new Float64Array(parts).fill(1 / parts);
  const total = counts.length + alike;
  for (let round = 0; round < 500 && total > 0; round++) {
    const next = maximised(likelihoods, shares, alike);
    let moved = 0;
    for (let part = 0; part < parts; part++) {
      next[part]! /= total;
      moved = Math.max(moved, Math.abs(next[part]! - shares[part]!));
    }
    shares = next;
    if (moved < 1e-6) break;
  }
  return [...shares];
}

/** One round: how many of the counts, and of those `alike` beforehand, are likely of each part. */
function maximised(
  likelihoods: Float64Array,
  shares: Float64Array,
  alike: number,
): Float64Array<ArrayBuffer> {
  const parts = shares.length;
  const sums = new Float64Array(parts);
  for (let at = 0; at < likelihoods.length; at += parts) {
    let whole = 0;
    for (let part = 0; part < parts; part++) whole += shares[part]! * likelihoods[at + part]!;
    const scale = 1 / whole;
    for (let part = 0; part < parts; part++) sums[part]! += likelihoods[at + part]! * scale;
  }
  for (let part = 0; part < parts; part++) sums[part]! *= shares[part]!;
  sums[0]! += alike;
  return sums;
}

interface Seen {
  misses: number;
  opportunities: number;
  /** Chances, each as often as its observer's severity makes of one. */
  weighed: number;
  squaresOfGames: number;
  byObserver: Map<string, number>;
}

/** Every official at every duty, beside the others in the position. */
function ownCounts(
  rows: readonly CountRow[],
  gameVariance: number,
  { factors, variance }: Severity,
): OwnCount[] {
  const groups = new Map<string, Map<string, Seen>>();
  for (const { duty, position, official, observer, opportunities, misses } of rows) {
    const key = `${duty}\n${position}`;
    let group = groups.get(key);
    if (!group) {
      group = new Map();
      groups.set(key, group);
    }
    let seen = group.get(official);
    if (!seen) {
      seen = { misses: 0, opportunities: 0, weighed: 0, squaresOfGames: 0, byObserver: new Map() };
      group.set(official, seen);
    }
    const weighed = opportunities * Math.exp(factors[observer] ?? 0);
    seen.misses += misses;
    seen.opportunities += opportunities;
    seen.weighed += weighed;
    seen.squaresOfGames += opportunities ** 2;
    seen.byObserver.set(observer, (seen.byObserver.get(observer) ?? 0) + opportunities);
  }
  const counts: OwnCount[] = [];
  for (const group of groups.values()) {
    let misses = 0;
    let weighed = 0;
    for (const seen of group.values()) {
      misses += seen.misses;
      weighed += seen.weighed;
    }
    // A duty that nobody missed tells nothing of anybody, nor does one that nobody else had.
    if (group.size < 2 || misses === 0) continue;
    for (const own of group.values()) {
      const rate = (misses - own.misses + 0.5) / (weighed - own.weighed + 1);
      let squares = 0;
      for (const opportunities of own.byObserver.values()) squares += opportunities ** 2;
      counts.push({
        misses: own.misses,
        usual: rate * own.weighed,
        variance: (gameVariance * own.squaresOfGames + variance * squares) / own.opportunities ** 2,
      });
    }
  }
  return counts;
}

/**
 * The spread of a season, of all officials and duties together: one position's few officials, one of whom was picked
 * for being high, could not tell. A mixture and not one normal distribution, so that a few who are far off are not
 * drawn in by the many who are alike (Stephens 2017, adaptive shrinkage; Efron and Morris 1975 for shrinkage).
 *
 * @param rows a season's counts; cuts are left out
 * @param gameVariance see `estimateGameVariation`
 */
export function officialSpread(rows: readonly CountRow[], gameVariance: number): OfficialSpread {
  const whole = rows.filter((row) => !row.situationCut && row.opportunities > 0);
  const severity = severityOf(whole);
  const games = withMargin(gameVariance);
  return { shares: sharesOf(ownCounts(whole, games, severity)), gameVariance: games, severity };
}
