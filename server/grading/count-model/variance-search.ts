import { type LaplacePoint, laplaceAt } from './laplace.ts';
import type { CountRows, Modes } from './modes.ts';
import type { WorkingEquations } from './working-equations.ts';

/** Where the search for the variances ended. */
export interface CountSearch {
  /** 0 where the rows support nothing. */
  variances: Float64Array;
  /** Fixed effects at the maximum; empty where they are integrated over. */
  fixed: Float64Array;
  criterion: number;
  converged: boolean;
  modes: Modes;
  /** Approximations done. */
  evaluations: number;
  /** Factors at which the search paused, the others' variances being where it would have gone on; else empty. */
  nearZero: readonly number[];
}

export interface SearchGoal {
  /** The search ends when the next step is expected to gain less than this in the criterion. */
  gain: number;
  /** How near the modes are found, in the linear predictor. */
  modes: number;
}

/** The least variance looked at. */
export const leastVariance = 1e-7;
const most = 400;
const mostSteps = 80;

/** Where to start, and along which columns the fixed effects are moved with the variances (none: integrated over). */
export interface SearchStart {
  variances: Float64Array;
  fixed: Float64Array;
  columns: readonly Float64Array[];
  /** (XᵀV⁻¹X)⁻¹ at the start, square. */
  fixedCovariance: Float64Array;
  predictor?: Float64Array;
  /** Factors whose variance stays as it is. */
  held?: readonly boolean[];
  /** Factors of which it is known that levels differ: their variance is kept away from 0 (`keptFromZero`). */
  neverZero?: readonly boolean[];
  /** Whether to return as soon as the expected curvature takes a variance below 0. */
  pauseAtZero?: boolean;
}

/**
 * Finds the variances, and the fixed effects with them where these are given columns, that minimise Laplace's
 * criterion: quasi-Newton steps (Broyden, Fletcher, Goldfarb and Shanno 1970) in log variances from the expected
 * curvature. A variance that keeps falling to next to nothing goes to 0.
 */
export function searchCountVariances(
  rows: CountRows,
  work: WorkingEquations,
  start: SearchStart,
  goal: SearchGoal,
): CountSearch | null {
  const factors = start.variances.length;
  const size = factors + start.columns.length;
  let evaluations = 0;
  let near = start.predictor;
  const evaluate = (at: Float64Array): LaplacePoint | null => {
    evaluations += 1;
    const variances = at.slice(0, factors).map(Math.exp);
    const given = start.columns.length > 0 ? { fixed: at.slice(factors), columns: start.columns } : null;
    const point = laplaceAt(rows, work, variances, given, { tolerance: goal.modes, from: near });
    return point && keptFromZero(point, at, start.neverZero);
  };
  const low = Math.log(leastVariance);
  const high = Math.log(most);
  const bounded = (value: number) => Math.min(high, Math.max(low, value));
  let at: Float64Array = new Float64Array(size);
  for (let k = 0; k < factors; k += 1) at[k] = bounded(Math.log(start.variances[k]!));
  at.set(start.fixed, factors);
  let point = evaluate(at);
  if (!point) return null;
  near = point.modes.predictor;
  let inverse = firstInverse(point, start.fixedCovariance, factors);
  let converged = size === 0;
  for (let step = 0; step < mostSteps && !converged; step += 1) {
    const gradient = slopeOf(point);
    const held = (k: number) =>
      k < factors && (start.held?.[k] === true || (at[k]! <= low && gradient[k]! >= 0));
    let move = direction(inverse, gradient, held);
    let downhill = 0;
    for (let k = 0; k < size; k += 1) downhill += move[k]! * gradient[k]!;
    if (!(downhill < 0)) {
      inverse = firstInverse(point, start.fixedCovariance, factors);
      move = direction(inverse, gradient, held);
      downhill = 0;
      for (let k = 0; k < size; k += 1) downhill += move[k]! * gradient[k]!;
    }
    if (!(-downhill > 2 * goal.gain)) {
      converged = true;
      break;
    }
    let furthest = 0;
    for (let k = 0; k < factors; k += 1) furthest = Math.max(furthest, Math.abs(move[k]!));
    const whole = Math.min(1, 2 / furthest);
    const nearZero = start.pauseAtZero
      ? belowZero(point, (k) => held(k) || start.neverZero?.[k] === true)
      : [];
    if (nearZero.length > 0) {
      const next = at.map((value, k) => value + whole * move[k]!);
      return endAt(next, point, { factors, converged, evaluations, nearZero });
    }
    let next: LaplacePoint | null = null;
    let reached = at;
    for (let length = whole; length > 1e-5 * whole; length *= 0.3) {
      reached = at.map((value, k) => {
        const moved = value + length * move[k]!;
        return k < factors ? bounded(moved) : moved;
      });
      const candidate = evaluate(reached);
      if (candidate && candidate.criterion <= point.criterion + 0.5 * goal.gain) {
        next = candidate;
        break;
      }
    }
    if (!next) {
      converged = -downhill < 100 * goal.gain;
      break;
    }
    const far = furthest > 1;
    inverse = far
      ? firstInverse(next, start.fixedCovariance, factors)
      : updated(inverse, at, reached, gradient, slopeOf(next));
    at = reached;
    point = next;
    near = point.modes.predictor;
  }
  return endAt(at, point, { factors, converged, evaluations, nearZero: [] });
}

function endAt(
  at: Float64Array,
  { criterion, modes }: LaplacePoint,
  { factors, ...end }: Pick<CountSearch, 'converged' | 'evaluations' | 'nearZero'> & { factors: number },
): CountSearch {
  const variances = at
    .slice(0, factors)
    .map((value) => (value <= Math.log(100 * leastVariance) ? 0 : Math.exp(value)));
  return { variances, fixed: at.slice(factors), criterion, modes, ...end };
}

/**
 * With the likelihood of a standard deviation multiplied by itself, a gamma(2, 0) density: its maximum is nowhere at 0 and
 * elsewhere moves by a fraction of its standard error (Chung, Rabe-Hesketh, Dorie, Gelman and Liu 2013, "A nondegenerate
 * penalized likelihood estimator for variance parameters in multilevel models", Psychometrika 78).
 */
function keptFromZero(
  point: LaplacePoint,
  logVariances: Float64Array,
  factors: readonly boolean[] | undefined,
): LaplacePoint {
  if (!factors?.includes(true)) return point;
  const gradient = point.gradient.map((slope, k) => (factors[k] ? slope - 1 : slope));
  const added = factors.reduce((sum, kept, k) => sum + (kept ? logVariances[k]! : 0), 0);
  return { ...point, gradient, criterion: point.criterion - added };
}

/** Factors of whose variance a step by the expected curvature, in the variance itself, would leave less than nothing. */
function belowZero({ gradient, information }: LaplacePoint, held: (k: number) => boolean): number[] {
  return [...gradient.keys()].filter((k) => !held(k) && gradient[k]! > information[k]!);
}

function slopeOf({ gradient, fixedGradient }: LaplacePoint): Float64Array {
  return Float64Array.from([...gradient, ...fixedGradient]);
}

/** The inverse of the expected curvature, by blocks. */
function firstInverse(point: LaplacePoint, fixedCovariance: Float64Array, factors: number): Float64Array {
  const columns = point.fixedGradient.length;
  const size = factors + columns;
  const inverse = new Float64Array(size * size);
  for (let k = 0; k < factors; k += 1) inverse[k * size + k] = 1 / Math.max(point.information[k]!, 0.05);
  for (let a = 0; a < columns; a += 1) {
    for (let b = 0; b < columns; b += 1) {
      inverse[(factors + a) * size + factors + b] = 0.5 * fixedCovariance[a * columns + b]!;
    }
  }
  return inverse;
}

function direction(
  inverse: Float64Array,
  gradient: Float64Array,
  held: (k: number) => boolean,
): Float64Array {
  const size = gradient.length;
  return gradient.map((_, k) => {
    if (held(k)) return 0;
    let value = 0;
    for (let l = 0; l < size; l += 1) if (!held(l)) value -= inverse[k * size + l]! * gradient[l]!;
    return value;
  });
}

/** The BFGS update of an inverse curvature; as it was where the slope did not grow along the step. */
function updated(
  inverse: Float64Array,
  from: Float64Array,
  to: Float64Array,
  gradientFrom: Float64Array,
  gradientTo: Float64Array,
): Float64Array {
  const size = from.length;
  const s = to.map((value, k) => value - from[k]!);
  const y = gradientTo.map((value, k) => value - gradientFrom[k]!);
  let sy = 0;
  for (let k = 0; k < size; k += 1) sy += s[k]! * y[k]!;
  if (!(sy > 1e-12)) return inverse;
  const hy = y.map((_, k) => {
    let value = 0;
    for (let l = 0; l < size; l += 1) value += inverse[k * size + l]! * y[l]!;
    return value;
  });
  let yhy = 0;
  for (let k = 0; k < size; k += 1) yhy += y[k]! * hy[k]!;
  const out = inverse.slice();
  for (let k = 0; k < size; k += 1) {
    for (let l = 0; l < size; l += 1) {
      out[k * size + l]! += ((1 + yhy / sy) * s[k]! * s[l]! - hy[k]! * s[l]! - s[k]! * hy[l]!) / sy;
    }
  }
  return out;
}
