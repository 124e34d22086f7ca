import jstat from 'jstat';

const { normal } = jstat.jStat;
const above = (z: number) => normal.cdf(-z, 0, 1);

/**
 * Error that may have been spent once `fraction` of a season's information is there, one-sided, with bounds like those
 * of O'Brien and Fleming (1979): 2 - 2 Φ(z(level / 2) / √fraction), Lan and DeMets (1983). Next to nothing early, all
 * of `level` at the end, however many looks there were.
 */
function spentBy(fraction: number, level: number): number {
  if (!(fraction > 0)) return 0;
  const z = -normal.inv(level / 2, 0, 1);
  return 2 * above(z / Math.sqrt(Math.min(1, fraction)));
}

/** Below this a bound is never met; its p-value would be lost in rounding. */
const leastError = 1e-12;
/** Steps of the integration; even, for Simpson's rule. */
const steps = 240;
/** Paths below this many standard deviations are left out: next to none of them comes back over a bound. */
const farthest = 7;
/** A look that adds less information than this is no look of its own. */
const leastStep = 1e-4;

/** Sub-density of paths that have met no bound, as the weights of points, and what it was found at. */
interface Paths {
  points: Float64Array;
  weights: Float64Array;
  fraction: number;
}

/**
 * Paths over `bound` at `fraction` that met none before, by the recursion of Armitage, McPherson and Rowe (1969) for
 * the score process of a standard normal statistic.
 */
function crossing(before: Paths | null, fraction: number, bound: number): number {
  if (!before) return above(bound / Math.sqrt(fraction));
  const deviation = Math.sqrt(fraction - before.fraction);
  let sum = 0;
  for (let i = 0; i <= steps; i++) sum += before.weights[i]! * above((bound - before.points[i]!) / deviation);
  return sum;
}

function pathsBelow(before: Paths | null, fraction: number, bound: number): Paths {
  const root = Math.sqrt(fraction);
  const top = Math.min(bound, farthest * root);
  const width = (top + farthest * root) / steps;
  const points = new Float64Array(steps + 1);
  const weights = new Float64Array(steps + 1);
  const variance = before ? fraction - before.fraction : fraction;
  const scale = 1 / Math.sqrt(2 * Math.PI * variance);
  const reach = farthest * Math.sqrt(variance);
  for (let i = 0; i <= steps; i++) {
    const point = top - (steps - i) * width;
    let density = 0;
    if (before) {
      for (let j = 0; j <= steps; j++) {
        const gap = point - before.points[j]!;
        if (gap > reach) continue;
        if (gap < -reach) break;
        density += before.weights[j]! * Math.exp((-gap * gap) / (2 * variance));
      }
    } else density = Math.exp((-point * point) / (2 * variance));
    const simpson = i === 0 || i === steps ? 1 : i % 2 === 1 ? 4 : 2;
    points[i] = point;
    weights[i] = (density * scale * simpson * width) / 3;
  }
  return { points, weights, fraction };
}

/**
 * The bound that `allowed` of the paths cross: on the normal scale their tail is nearly straight in the bound, so a few
 * steps of the secant find it; it never leaves what halving has left.
 */
function boundFor(before: Paths | null, fraction: number, allowed: number): number {
  const root = Math.sqrt(fraction);
  const deviate = (bound: number) =>
    -normal.inv(Math.min(1 - 1e-15, Math.max(1e-300, crossing(before, fraction, bound))), 0, 1) - wanted;
  const wanted = -normal.inv(allowed, 0, 1);
  let low = -farthest * root;
  let high = farthest * root;
  let last = { bound: low, off: Number.NaN };
  let bound = wanted * root;
  for (let i = 0; i < 60 && high - low > 1e-10; i++) {
    const off = deviate(bound);
    if (Math.abs(off) < 1e-9) return bound;
    if (off < 0) low = bound;
    else high = bound;
    const next = bound - (off * (bound - last.bound)) / (off - last.off);
    last = { bound, off };
    bound = next > low && next < high ? next : (low + high) / 2;
  }
  return bound;
}

/**
 * One-sided bounds on the normal statistic at looks after `fractions` of the information (rising, 0 to 1), so that any
 * of them is met by chance with probability `level` at most, whatever looks follow. Infinity: nothing can be said yet.
 */
export function spendingBounds(fractions: readonly number[], level: number): number[] {
  const bounds: number[] = [];
  let paths: Paths | null = null;
  let spent = 0;
  for (const [look, given] of fractions.entries()) {
    const fraction = Math.min(1, given);
    const allowed: number = spentBy(fraction, level) - spent;
    if (!(fraction > (paths?.fraction ?? 0) + leastStep) || allowed < leastError) {
      bounds.push(
        bounds.length > 0 && fraction <= (paths?.fraction ?? 0) + leastStep ? bounds.at(-1)! : Infinity,
      );
      continue;
    }
    const bound = boundFor(paths, fraction, allowed);
    bounds.push(bound / Math.sqrt(fraction));
    if (look < fractions.length - 1) paths = pathsBelow(paths, fraction, bound);
    spent += allowed;
  }
  return bounds;
}

/** The bounds as one-sided p-values: what a look's own exact p-value has to reach. 0: nothing can be said yet. */
export function nominalLevels(fractions: readonly number[], level: number): number[] {
  return spendingBounds(fractions, level).map((bound) => (bound === Infinity ? 0 : above(bound)));
}

/** Probability that a standard normal statistic meets any of the bounds at its looks, when there is nothing to find. */
export function errorOfBounds(fractions: readonly number[], bounds: readonly number[]): number {
  let paths: Paths | null = null;
  let error = 0;
  for (const [look, fraction] of fractions.entries()) {
    const bound = bounds[look]! * Math.sqrt(fraction);
    error += crossing(paths, fraction, bound);
    paths = pathsBelow(paths, fraction, bound);
  }
  return error;
}
