import jstat from 'jstat';
import type { ComparedGroup } from './comparison.ts';
import type { Event, SeasonCounts } from './counts.ts';
import { gamesOfUnits, overdispersion } from './games-of-group.ts';

/**
 * How much games differ in themselves: the variance of a game's own factor on the rate of an event, 0 when
 * games differ no more than chance makes them; and the degrees of freedom it was estimated with.
 */
export interface GameVariation {
  variance: number;
  degrees: number;
}

/**
 * Events that each row would have at the pooled rate of its duty and position, times its observer's severity: the
 * observer's events over those pooled rates would give, all duties together. A cut has a pooled rate of its own.
 */
export function usualEvents(counts: SeasonCounts, event: Event): Float64Array {
  const { rows, observer, position } = counts;
  const pooled = new Map<string, { events: number; opportunities: number }[]>();
  const poolOf = (i: number) => {
    const { duty, situationCut } = rows[i]!;
    const key = situationCut ? `${duty}\n${situationCut}` : duty;
    let byPosition = pooled.get(key);
    if (!byPosition) {
      byPosition = position.names.map(() => ({ events: 0, opportunities: 0 }));
      pooled.set(key, byPosition);
    }
    return byPosition[position.of[i]!]!;
  };
  for (let i = 0; i < rows.length; i++) {
    const pool = poolOf(i);
    pool.events += rows[i]![event];
    pool.opportunities += rows[i]!.opportunities;
  }
  const usual = new Float64Array(rows.length);
  const seen = new Float64Array(observer.names.length);
  const given = new Float64Array(observer.names.length);
  for (let i = 0; i < rows.length; i++) {
    const pool = poolOf(i);
    usual[i] = (rows[i]!.opportunities * pool.events) / pool.opportunities;
    if (rows[i]!.situationCut) continue;
    seen[observer.of[i]!]! += rows[i]![event];
    given[observer.of[i]!]! += usual[i]!;
  }
  for (let i = 0; i < rows.length; i++) {
    const by = observer.of[i]!;
    if (given[by]! > 0) usual[i]! *= seen[by]! / given[by]!;
  }
  return usual;
}

/**
 * Hard games, bad weather or a bad evening make misses come in bunches. An exact test that takes each chance
 * as independent then cries wolf. How bunched they are is measured as in Morisita's index of dispersion (1959):
 * pairs of a unit's events that fall in the same game, beside the pairs expected when each chance of the unit is
 * an event with the rate usual for it. Pooled over all duties of a family, whole duties only, because one duty's
 * games are too few to tell; a duty that swings more than the rest is under-allowed for by it.
 *
 * The excess is divided by what a variance of 1 would add, less the part that is lost because the unit's own
 * level and each observer's severity are taken from the same games.
 */
export function estimateGameVariation(
  counts: SeasonCounts,
  groups: readonly ComparedGroup[],
  event: Event,
  usual: Float64Array,
): GameVariation {
  let excess = 0;
  let perVariance = 0;
  let degrees = 0;
  for (const group of groups) {
    if (group.group.situationCut !== null || !group.has(event)) continue;
    for (const unit of gamesOfUnits(group, event, usual)) {
      let events = 0;
      let usualInAll = 0;
      let selfPairs = 0;
      for (const game of unit) {
        events += game.events;
        usualInAll += game.usual;
        selfPairs += game.selfPairs;
      }
      const pairsInAll = usualInAll ** 2 - selfPairs;
      if (events < 2 || unit.length < 2 || pairsInAll <= 0) continue;
      let same = 0;
      let sameUsual = 0;
      for (const game of unit) {
        same += game.events * (game.events - 1);
        sameUsual += game.usual ** 2 - game.selfPairs;
      }
      const share = sameUsual / pairsInAll;
      excess += same / (events - 1) - events * share;
      perVariance += events * share * (1 - share);
      degrees += unit.length - 1;
    }
  }
  const games = counts.game.names.length;
  const left = games > 0 ? Math.max(0.5, 1 - counts.observer.names.length / games) : 1;
  return { variance: perVariance > 0 ? Math.max(0, excess / (perVariance * left)) : 0, degrees };
}

/**
 * Widens an exact one-sided p-value: its normal deviate is divided by the root of `factor` (how much larger
 * than chance the variance of the unit's events is) and read off Student's t, as a quasi-likelihood test does
 * (McCullagh and Nelder 1989, section 4.5). Never smaller than the p-value given, so the exact test stands as it
 * is where games do not differ.
 */
function widenPValue(pValue: number, factor: number, degrees: number): number {
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
  comparison = compared.compare(unit, event),
): { pValue: number; overdispersion: number } {
  const exact = compared.exactPValue(unit, event, tail, comparison);
  if (exact >= 0.5 || variation.variance === 0) return { pValue: exact, overdispersion: 1 };
  const factor = overdispersion(compared, unit, event, variation.variance);
  return { pValue: widenPValue(exact, factor, variation.degrees), overdispersion: factor };
}
