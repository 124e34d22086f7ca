import jstat from 'jstat';
import type { ComparedGroup, Event } from './comparison.ts';

/**
 * How much more a unit's games differ from each other than chance alone would make them.
 * `factor` 1: not more than chance. `degrees`: degrees of freedom it was estimated with.
 */
export interface Overdispersion {
  factor: number;
  degrees: number;
}

/**
 * Hard games, bad weather or a bad evening make misses come in bunches. An exact test that takes each chance
 * as independent then cries wolf. The factor is the moment estimate of quasi-likelihood (McCullagh and Nelder
 * 1989, section 4.5): squared deviations of games from their unit's own level over the variance of chance,
 * pooled over the groups given, and never below 1.
 */
export function estimateOverdispersion(groups: readonly ComparedGroup[], event: Event): Overdispersion {
  let squares = 0;
  let variance = 0;
  let cells = 0;
  let fitted = 0;
  for (const group of groups) {
    const spread = group.spreadOverGames(event);
    squares += spread.squares;
    variance += spread.variance;
    cells += spread.cells;
    fitted += spread.fitted;
  }
  const degrees = cells - fitted;
  if (degrees < 1 || variance <= 0) return { factor: 1, degrees: Math.max(0, degrees) };
  return { factor: Math.max(1, (squares / variance) * (cells / degrees)), degrees };
}

/**
 * Widens an exact one-sided p-value for over-dispersion: its normal deviate is divided by the root of the
 * factor and read off Student's t, as a quasi-likelihood test does. Never smaller than the p-value given, so
 * the exact test's promise stands where games do not differ.
 */
export function widenPValue(pValue: number, { factor, degrees }: Overdispersion): number {
  if (factor <= 1 || pValue >= 0.5 || pValue <= 0) return pValue;
  const deviate = -jstat.jStat.normal.inv(pValue, 0, 1) / Math.sqrt(factor);
  return Math.max(pValue, jstat.jStat.studentt.cdf(-deviate, degrees));
}
