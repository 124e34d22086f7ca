import type { Spread } from './prices.ts';

/** Noise that every observer of one evening shares, and noise that is each one's own: variances. */
function noiseOf(spread: Spread): { shared: number; own: number } {
  return {
    shared: spread.game ** 2 + spread.officialInGame ** 2,
    own: spread.observer ** 2 + spread.observerInPosition ** 2 + spread.residual ** 2,
  };
}

/**
 * Standard error, in grade points, of an official's adjusted grade after `times` games (or parts of
 * games: watched chances count, not evenings) by different observers: the posterior spread of a normal effect seen
 * through all other noise (Henderson 1975, one official alone). It falls ever more slowly, which is what lets the
 * planner weigh it with linear costs. The coverage page shows the full model's figure instead.
 */
export function standardErrorAfter(times: number, spread: Spread): number {
  const skill = spread.official ** 2;
  if (skill === 0) return 0;
  const { shared, own } = noiseOf(spread);
  const noise = shared + own;
  if (noise === 0) return times > 0 ? 0 : spread.official;
  return Math.sqrt((skill * noise) / (noise + skill * times));
}

/**
 * What the `time`-th game (1, 2, ..., or 1.5 after half a game's worth of chances) takes off one official's standard error, as a share of what is not known before
 * the first: all gains together approach 1. Never grows from one time to the next.
 */
export function gainOfTime(time: number, spread: Spread): number {
  if (spread.official === 0) return 0;
  return (standardErrorAfter(time - 1, spread) - standardErrorAfter(time, spread)) / spread.official;
}

/**
 * What a second observer of a game tells of its officials, in games' worth: as much as a game's noise, halved only where
 * it is the observers' own, is less than that of one observer. Each further one is taken to tell as much.
 */
export function furtherLook(spread: Spread): number {
  const { shared, own } = noiseOf(spread);
  return own === 0 ? 0 : own / (2 * shared + own);
}

/** Games' worth of so many observers of one game. */
export const looksWorth = (observers: number, spread: Spread): number =>
  observers === 0 ? 0 : 1 + (observers - 1) * furtherLook(spread);

/** What `worth` more games tell after `before`: `gainOfTime` added up, a part of a game gaining its part. */
export function gainOver(before: number, worth: number, spread: Spread): number {
  // A sum of further looks that is a whole number but for rounding is one.
  const whole = Math.floor(worth + 1e-9);
  let gain = 0;
  for (let n = 1; n <= whole; n += 1) gain += gainOfTime(before + n, spread);
  return gain + Math.max(0, worth - whole) * gainOfTime(before + whole + 1, spread);
}
