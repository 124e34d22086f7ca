import type { CountRow } from '../counts.ts';
import { binomial, type Rate } from '../exact-tests.ts';
import type { Severity } from './severity.ts';

/** How much games and observers of a season differ. */
interface Circumstances {
  /** Variance of a game's own effect on log odds. */
  gameVariance: number;
  severity: Severity;
}

/** What one observer (or pair of them) saw of an official, with what peers' misses tell of the level there. */
interface ObservedStratum {
  own: Rate;
  /**
   * Log odds of a miss for one like the peers, as this observer marks: `centre` and the masses of points around it, as
   * far apart as those of the grid, the middle one at `centre`.
   */
  centre: number;
  masses: Float64Array;
}

/** An official's misses in some games of one duty and position, by observer. */
export interface OwnLevel {
  strata: ObservedStratum[];
  own: Rate;
  /** Share of the variance between single games that the mean of these games keeps. */
  gameShare: number;
}

/** Log odds ratios of a miss, an official's against peers', that are told apart. */
const step = 0.15;
const farthest = 30;
export const oddsGrid = Float64Array.from({ length: 2 * farthest + 1 }, (_, i) => (i - farthest) * step);
/** Standard deviations of an observer's level that are looked at. */
const deviations = 4;

const expit = (x: number) => 1 / (1 + Math.exp(-x));

function totals(rows: readonly CountRow[]): Rate {
  const total = { events: 0, opportunities: 0 };
  for (const { misses, opportunities } of rows) {
    total.events += misses;
    total.opportunities += opportunities;
  }
  return total;
}

function groupedBy(rows: readonly CountRow[], key: 'observer' | 'game'): Map<string, CountRow[]> {
  const groups = new Map<string, CountRow[]>();
  for (const row of rows) {
    if (row.opportunities === 0) continue;
    const group = groups.get(row[key]);
    if (group) group.push(row);
    else groups.set(row[key], [row]);
  }
  return groups;
}

/** Log of the probability of the count, up to what does not depend on the rate. */
const logBinomial = ({ events, opportunities }: Rate, logOdds: number) =>
  events * logOdds - opportunities * Math.log1p(Math.exp(logOdds));

/**
 * Peers' usual log odds, their observers' severity taken off, half a miss of one chance added: peers who missed none
 * (or all) in few chances are not taken to miss never (always).
 */
function usualLogOdds(peers: ReadonlyMap<string, CountRow[]>, severity: Severity): number {
  let events = 0.5;
  let opportunities = 1;
  let weighed = 1;
  for (const [observer, rows] of peers) {
    const total = totals(rows);
    events += total.events;
    opportunities += total.opportunities;
    weighed += total.opportunities * Math.exp(severity.factors[observer] ?? 0);
  }
  const rate = Math.min(events / weighed, 1 - 0.5 / opportunities);
  return Math.log(rate / (1 - rate));
}

/** Share of the variance between single games that the mean of these rows' games keeps. */
function gameShareOf(rows: readonly CountRow[]): number {
  const all = totals(rows).opportunities;
  let share = 0;
  for (const game of groupedBy(rows, 'game').values()) share += (totals(game).opportunities / all) ** 2;
  return share;
}

/**
 * Likelihood of what one observer saw of the peers, at log odds as far apart as the grid's around `centre`. The peers'
 * games are no more usual than the official's: few of them tell little of the observer.
 */
function likelihoodOfPeers(
  peers: readonly CountRow[],
  centre: number,
  reach: number,
  gameVariance: number,
): Float64Array {
  if (peers.length === 0) return new Float64Array(2 * reach + 1).fill(1);
  const seen = totals(peers);
  const games = normalAround(gameVariance * gameShareOf(peers));
  const wide = (games.length - 1) / 2;
  const logs = Float64Array.from({ length: 2 * (reach + wide) + 1 }, (_, i) =>
    logBinomial(seen, centre + (i - reach - wide) * step),
  );
  const most = Math.max(...logs);
  const likelihood = logs.map((log) => Math.exp(log - most));
  return Float64Array.from({ length: 2 * reach + 1 }, (_, i) =>
    games.reduce((sum, mass, j) => sum + mass * likelihood[i + j]!, 0),
  );
}

/** A normal distribution around 0, at points as far apart as the grid's. */
function normalAround(variance: number): Float64Array {
  const spread = Math.max(variance, leastVariance);
  const reach = Math.ceil((deviations * Math.sqrt(spread)) / step);
  return masses(
    Float64Array.from({ length: 2 * reach + 1 }, (_, i) => -(((i - reach) * step) ** 2) / (2 * spread)),
  );
}

/**
 * @param own rows of one official
 * @param peers of others; both of one duty (or cut of it) at one position
 */
export function ownLevel(
  own: readonly CountRow[],
  peers: readonly CountRow[],
  { severity, gameVariance }: Circumstances,
): OwnLevel {
  const others = groupedBy(peers, 'observer');
  const usual = usualLogOdds(others, severity);
  const reach = Math.ceil((deviations * Math.sqrt(severity.variance)) / step);
  const strata = [...groupedBy(own, 'observer')].map(([observer, rows]): ObservedStratum => {
    const centre = usual + (severity.factors[observer] ?? 0);
    const seen = likelihoodOfPeers(others.get(observer) ?? [], centre, reach, gameVariance);
    const logs = seen.map(
      (likelihood, i) =>
        Math.log(Math.max(likelihood, Number.MIN_VALUE)) -
        ((i - reach) * step) ** 2 / (2 * severity.variance),
    );
    return { own: totals(rows), centre, masses: masses(logs) };
  });
  return { strata, own: totals(own), gameShare: gameShareOf(own) };
}

/** Masses that add up to 1 in the proportion of `exp(logs)`. */
function masses(logs: Float64Array): Float64Array {
  const most = Math.max(...logs);
  const weights = logs.map((log) => Math.exp(log - most));
  const total = weights.reduce((a, b) => a + b, 0);
  return weights.map((weight) => weight / total);
}

/** Log-likelihood of the official's misses over the grid, each stratum's greatest value near 0. */
export function logLikelihood({ strata }: OwnLevel): Float64Array {
  const sum = new Float64Array(oddsGrid.length);
  for (const { own, centre, masses } of strata) {
    const reach = (masses.length - 1) / 2;
    const logs = new Float64Array(oddsGrid.length + 2 * reach);
    for (let i = 0; i < logs.length; i++) logs[i] = logBinomial(own, centre + (i - farthest - reach) * step);
    const most = Math.max(...logs);
    const values = logs.map((log) => Math.exp(log - most));
    for (let i = 0; i < sum.length; i++) {
      let likelihood = 0;
      for (let j = 0; j < masses.length; j++) likelihood += masses[j]! * values[i + j]!;
      sum[i]! += Math.log(Math.max(likelihood, Number.MIN_VALUE));
    }
  }
  return sum;
}

/**
 * Distributions of the official's misses over all strata, masses of 0, 1, ..., at each point of the grid that is
 * `wanted`; null at others.
 */
export function missesOverGrid(
  { strata }: OwnLevel,
  wanted: (point: number) => boolean,
): (Float64Array | null)[] {
  const result = Array.from(oddsGrid, (_, i) => (wanted(i) ? Float64Array.of(1) : null));
  for (const { own, centre, masses } of strata) {
    const reach = (masses.length - 1) / 2;
    const n = own.opportunities;
    const each: Float64Array[] = [];
    for (const [i, sum] of result.entries()) {
      if (!sum) continue;
      const here = new Float64Array(n + 1);
      for (const [j, mass] of masses.entries()) {
        if (mass < 1e-7) continue;
        each[i + j] ??= binomial(n, expit(centre + (i + j - farthest - reach) * step)).mass;
        for (let k = 0; k <= n; k++) here[k]! += mass * each[i + j]![k]!;
      }
      const next = new Float64Array(sum.length + n);
      for (let a = 0; a < sum.length; a++) {
        if (sum[a]! < 1e-12) continue;
        for (let k = 0; k <= n; k++) next[a + k]! += sum[a]! * here[k]!;
      }
      result[i] = next;
    }
  }
  return result;
}

/** Miss rate in the level's chances, at a log odds ratio. */
export function rateAt({ strata, own: all }: OwnLevel, logOdds: number): number {
  let misses = 0;
  for (const { own, centre, masses } of strata) {
    const reach = (masses.length - 1) / 2;
    for (const [j, mass] of masses.entries())
      misses += own.opportunities * mass * expit(centre + (j - reach) * step + logOdds);
  }
  return misses / all.opportunities;
}

/** A normal distribution on the grid, its masses adding up to 1. */
export function normalOnGrid(mean: number, variance: number): Float64Array {
  const spread = Math.max(variance, leastVariance);
  return masses(oddsGrid.map((value) => -((value - mean) ** 2) / (2 * spread)));
}

/** With less, a distribution would fall between the points of the grid. */
const leastVariance = 0.06 ** 2;
