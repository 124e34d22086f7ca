import { binomial, lowerTail, upperTail } from '../exact-tests.ts';
import { spreadDeviations } from './official-spread.ts';
import { expectedMisses, type StaffCell } from './staff-level.ts';

/** A duty's later misses, as likely as they are had nothing changed. */
export interface LaterMisses {
  /** Miss rate on average. */
  readonly rate: number;
  /** Chance of so few, and of so many; the larger of shrunk and taken at its word. */
  fewer(misses: number): number;
  more(misses: number): number;
  /** Chance that a fall to `rate` shows at the p-value `level`. */
  powerToSee(rate: number, level: number): number;
}

/** A standard normal distribution in evenly spaced points. */
const nodes = Array.from({ length: 33 }, (_, i) => (i - 16) / 4);
const density = nodes.map((z) => Math.exp((-z * z) / 2));
const whole = density.reduce((sum, value) => sum + value, 0);
/** Beyond this little mass a part of the mixture is not looked at. */
const negligible = 1e-6;

interface Point {
  mass: number;
  /** Miss rate in the later chances. */
  rate: number;
}

/**
 * Empirical Bayes (Efron and Morris 1975): the later level is normal around the one before, drawn toward the usual by
 * each part of the mixture of how duties differ (`official-spread.ts`), with the variance of that and of other games.
 *
 * @param before the level before and its variance
 * @param shares of duties by `spreadDeviations`
 * @param later the cells afterwards: their chances, and their observers
 * @param extra variance that other games and observers add at a level
 */
export function laterMisses(
  before: { level: number; variance: number },
  shares: readonly number[],
  later: readonly StaffCell[],
  extra: (level: number) => number,
): LaterMisses {
  const opportunities = later.reduce((sum, cell) => sum + cell.opportunities, 0);
  const pointsOf = (mean: number, variance: number, mass: number): Point[] => {
    const deviation = Math.sqrt(variance + extra(mean));
    return nodes.map((z, i) => ({
      mass: (mass * density[i]!) / whole,
      rate: expectedMisses(later, mean + deviation * z) / opportunities,
    }));
  };
  const parts = spreadDeviations.map((deviation, part) => {
    const all = deviation ** 2 + before.variance;
    return (shares[part]! * Math.exp(-(before.level ** 2) / (2 * all))) / Math.sqrt(all);
  });
  const total = parts.reduce((sum, weight) => sum + weight, 0);
  const atItsWord = pointsOf(before.level, before.variance, 1);
  const shrunk =
    total > 0
      ? parts.flatMap((weight, part) => {
          const share = weight / total;
          if (share < negligible) return [];
          const own = spreadDeviations[part]! ** 2;
          const kept = own / (own + before.variance);
          return pointsOf(kept * before.level, kept * before.variance, share);
        })
      : atItsWord;
  const laws = [shrunk, atItsWord].map((points) => ({
    points,
    distributions: distributionOf(points, opportunities),
  }));
  return {
    rate: shrunk.reduce((sum, { mass, rate }) => sum + mass * rate, 0),
    fewer: (misses) => Math.max(...laws.map(({ distributions }) => lowerTail(distributions, misses))),
    more: (misses) => Math.max(...laws.map(({ distributions }) => upperTail(distributions, misses))),
    powerToSee(rate, level) {
      let most = -1;
      let reached = laws.map(() => 0);
      while (most + 1 <= opportunities) {
        reached = reached.map((sum, law) => sum + (laws[law]!.distributions.mass[most + 1] ?? 0));
        if (Math.max(...reached) > level) break;
        most += 1;
      }
      return most < 0 ? 0 : lowerTail(binomial(opportunities, rate), most);
    },
  };
}

/** Masses of 0, 1, ... misses of so many chances. */
function distributionOf(points: readonly Point[], opportunities: number) {
  const mass = new Float64Array(opportunities + 1);
  for (const point of points) {
    const own = binomial(opportunities, point.rate);
    for (let k = 0; k < own.mass.length; k += 1) mass[k + own.low]! += point.mass * own.mass[k]!;
  }
  return { low: 0, mass };
}
