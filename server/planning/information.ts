import type { Spread } from './prices.ts';

/**
 * Standard error, in grade points, of an official's adjusted grade after `times` games by different
 * observers: the posterior spread of a normal effect seen through observer, game and residual noise
 * (Henderson 1975, one official alone). It falls ever more slowly, which is what lets the planner weigh it
 * with linear costs. The coverage page shows the full model's figure instead.
 */
export function standardErrorAfter(times: number, spread: Spread): number {
  const skill = spread.official ** 2;
  if (skill === 0) return 0;
  const noise = spread.observer ** 2 + spread.game ** 2 + spread.residual ** 2;
  if (noise === 0) return times > 0 ? 0 : spread.official;
  return Math.sqrt((skill * noise) / (noise + skill * times));
}

/**
 * What the `time`-th game (1, 2, ...) takes off one official's standard error, as a share of what is not known before
 * the first: all gains together approach 1. Never grows from one time to the next.
 */
export function gainOfTime(time: number, spread: Spread): number {
  if (spread.official === 0) return 0;
  return (standardErrorAfter(time - 1, spread) - standardErrorAfter(time, spread)) / spread.official;
}
