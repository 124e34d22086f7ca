import { binomial, lowerTail } from '../exact-tests.ts';
import { oddsGrid } from './own-level.ts';

/** Beyond this many chances in one duty no season helps; the search stops. */
const mostChances = 300;

/** What `opportunities` more chances are judged by: the level if nothing changed, shrunk and not. */
interface Yardstick {
  masses: readonly Float64Array[];
  /** Miss rate at a log odds ratio. */
  rateAt: (logOdds: number) => number;
}

/** Chance that a fall to `target` shows in so many chances at the p-value `level`; by binomial tails. */
export function powerToSeeFall(
  { masses, rateAt }: Yardstick,
  opportunities: number,
  target: number,
  level: number,
): number {
  if (opportunities === 0 || level === 0) return 0;
  const sums = masses.map(() => new Float64Array(opportunities + 1));
  for (const [i, logOdds] of oddsGrid.entries()) {
    if (masses.every((each) => each[i]! < 1e-5)) continue;
    const { low, mass } = binomial(opportunities, rateAt(logOdds));
    for (const [m, sum] of sums.entries())
      for (let k = 0; k < mass.length; k++) sum[k + low]! += masses[m]![i]! * mass[k]!;
  }
  let most = -1; // most misses that would still be a fall beyond chance
  const reached = sums.map(() => 0);
  for (let k = 0; k <= opportunities; k++) {
    for (const [i, sum] of sums.entries()) reached[i]! += sum[k]!;
    if (Math.max(...reached) > level) break;
    most = k;
  }
  return most < 0 ? 0 : lowerTail(binomial(opportunities, target), most);
}

/** Fewest chances with which a fall to `target` shows with probability `power`; null when over 300. */
export function chancesNeeded(
  yardstick: Yardstick,
  target: number,
  level: number,
  power: number,
): number | null {
  const enough = (opportunities: number) => powerToSeeFall(yardstick, opportunities, target, level) >= power;
  if (!enough(mostChances)) return null;
  let low = 0;
  let high = mostChances;
  // Power of a count test rises but for small steps back; halving finds it to within one.
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (enough(middle)) high = middle;
    else low = middle;
  }
  return high;
}
