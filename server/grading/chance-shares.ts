import type { DutyCount } from './game-grade.ts';

/**
 * Each duty's part, 0 to 1, of what chance alone makes of a grade as marked, by key: weighted misses are a sum of rare
 * events, whose variance is estimated by Σ weight² × cost (the scaled Poisson distribution: Bohm and Zech 2014,
 * "Statistics of weighted Poisson events and its applications", Nuclear Instruments and Methods A 748). Few dear misses
 * leave more to chance than many cheap ones. Empty where nothing was missed.
 *
 * @param rows counts with whole numbers or not; of one duty added up
 */
export function chanceShares(rows: readonly DutyCount[]): Map<string, number> {
  const variances = new Map<string, number>();
  let whole = 0;
  for (const { duty, weight, opportunities, met, cost = opportunities - met } of rows) {
    if (!(cost > 0 && weight > 0)) continue;
    const variance = weight * weight * cost;
    whole += variance;
    variances.set(duty, (variances.get(duty) ?? 0) + variance);
  }
  return new Map([...variances].map(([duty, variance]) => [duty, variance / whole]));
}
