import jstat from 'jstat';
import type { ComparedGroup, Event } from './comparison.ts';

/**
 * How much games differ in themselves: the variance of a game's own factor on the rate of an event, 0 when
 * games differ no more than chance makes them; and the degrees of freedom it was estimated with.
 */
export interface GameVariation {
  variance: number;
  degrees: number;
}

/**
 * Hard games, bad weather or a bad evening make misses come in bunches. An exact test that takes each chance
 * as independent then cries wolf. Moment estimate (as in the negative binomial: McCullagh and Nelder 1989,
 * section 6.2): squared deviations of games from their unit's own level, less what chance gives, over the
 * squared means. Pooled over all duties of a family, whole duties only, because one duty's games are too few
 * to tell; a duty that swings more than the rest is under-allowed for by it.
 */
export function estimateGameVariation(groups: readonly ComparedGroup[], event: Event): GameVariation {
  let excess = 0;
  let squaredMeans = 0;
  let degrees = 0;
  for (const group of groups) {
    if (group.group.situationCut !== null || !group.has(event)) continue;
    const spread = group.spreadOverGames(event);
    const free = spread.cells - spread.fitted;
    if (free < 1) continue;
    excess += spread.squares * (spread.cells / free) - spread.variance;
    squaredMeans += spread.squaredMeans;
    degrees += free;
  }
  return { variance: squaredMeans > 0 ? Math.max(0, excess / squaredMeans) : 0, degrees };
}

/**
 * Widens an exact one-sided p-value: its normal deviate is divided by the root of `factor` (how much larger
 * than chance the variance of the unit's events is) and read off Student's t, as a quasi-likelihood test
 * does. Never smaller than the p-value given, so the exact test stands as it is where games do not differ.
 */
export function widenPValue(pValue: number, factor: number, degrees: number): number {
  if (factor <= 1 || pValue >= 0.5 || pValue <= 0) return pValue;
  const deviate = -jstat.jStat.normal.inv(pValue, 0, 1) / Math.sqrt(factor);
  return Math.max(pValue, jstat.jStat.studentt.cdf(-deviate, Math.max(1, degrees)));
}

/** The one-sided p-value of a unit: exact, then widened for what games differ. */
export function pValueOf(
  compared: ComparedGroup,
  unit: number,
  event: Event,
  tail: 'more' | 'fewer',
  variation: GameVariation,
): { pValue: number; overdispersion: number } {
  const exact = compared.exactPValue(unit, event, tail);
  if (exact >= 0.5 || variation.variance === 0) return { pValue: exact, overdispersion: 1 };
  const factor = compared.overdispersion(unit, event, variation.variance);
  return { pValue: widenPValue(exact, factor, variation.degrees), overdispersion: factor };
}
