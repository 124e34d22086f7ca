import { LearnedCurvature } from './learned-curvature.ts';
import { momentRatios } from './moment-start.ts';
import type { NormalEquations } from './normal-equations.ts';
import { type Slope, type Solution, slopeOf, solveModel } from './restricted-likelihood.ts';
import { invertSmall } from './small-matrix.ts';

export interface VarianceSearch {
  solution: Solution;
  converged: boolean;
  /** Some ratio went as high as is looked: next to nothing is left for the residual. */
  saturated: boolean;
  /** Factorisations done. */
  evaluations: number;
  /** Factors at which the search paused; empty when it went to its end. */
  nearZero: readonly number[];
}

interface SearchOptions {
  /** Ratios to start from; left out, by moments. */
  start?: Float64Array;
  /** Whether to return, not converged, as soon as a ratio is next to 0 and the criterion still rises in it. */
  pauseAtZero?: boolean;
}

/**
 * When to stop: when the step after this one is expected to gain less than `gain` in the criterion and to
 * move no ratio by more than the part `move` of it. Where a step costs next to nothing the search goes to
 * the end of double precision; where it is dear, to well below the digits that anyone prints.
 */
const goals = { cheap: { gain: 1e-12, move: 1e-8 }, dear: { gain: 1e-5, move: 1e-4 } };
const dearFrom = 100_000;
const longestSearch = 100;

/**
 * Finds the variance ratios that minimise the criterion, all 0 or more: Newton steps with the exact slope
 * and the average-information curvature, halved until the criterion falls, from a start by moments. A ratio
 * that keeps falling where the criterion still rises in it goes to 0, as it should.
 */
export function searchVariances(
  equations: NormalEquations,
  { start, pauseAtZero = false }: SearchOptions = {},
): VarianceSearch | null {
  const { factors } = equations;
  const low = leastRatios(equations);
  const high = low.map((ratio) => ratio * 1e13);
  const within = (value: number, k: number) => Math.min(high[k]!, Math.max(low[k]!, value));

  let evaluations = 1;
  let current = solveModel(equations, (start ?? momentRatios(equations)).map(within));
  if (!current) return null;
  let converged = factors === 0;
  const goal = equations.layout.valueStart.at(-1)! < dearFrom ? goals.cheap : goals.dear;
  let gainBefore = 0;
  let moveBefore = 0;
  const learned = new LearnedCurvature(factors);
  for (let step = 0; step < longestSearch && !converged; step += 1) {
    const { ratios } = current;
    const { gradient, curvature } = inLogarithms(slopeOf(equations, current), ratios);
    if (pauseAtZero) {
      const nearZero = [...ratios.keys()].filter((k) => ratios[k]! < low[k]! * 1e3 && gradient[k]! >= 0);
      if (nearZero.length > 0) {
        return { solution: current, converged: false, saturated: false, evaluations, nearZero };
      }
    }
    const bent = learned.added(ratios, gradient, curvature);
    const free: number[] = [];
    for (let k = 0; k < factors; k += 1) {
      if (!(ratios[k]! <= low[k]! && gradient[k]! >= 0)) free.push(k);
    }
    const move = newtonMove(free, gradient, bent);
    const gain = move.reduce((sum, value, i) => sum - 0.5 * value * gradient[free[i]!]!, 0);
    if (free.length === 0 || gain < 1e-14) {
      converged = true;
      break;
    }
    // Near the end a step gains less than the criterion's rounding: that must not turn down a good one.
    const highest = current.criterion + 4 * Number.EPSILON * Math.abs(current.criterion);
    let accepted: Solution | null = null;
    for (let length = 1; !accepted && length > 1e-6; length /= 2) {
      const next = ratios.slice();
      for (const [i, k] of free.entries()) next[k] = within(moved(ratios[k]!, length * move[i]!), k);
      const candidate = solveModel(equations, next);
      evaluations += 1;
      if (candidate && candidate.criterion <= highest) accepted = candidate;
    }
    // Convergence is linear at worst, so the next step shrinks at least as much as this one did.
    const furthest = move.reduce((max, value) => Math.max(max, Math.abs(value)), 0);
    const settled =
      gain * Math.min(1, gain / gainBefore) < goal.gain &&
      furthest * Math.min(1, furthest / moveBefore) < goal.move;
    gainBefore = gain;
    moveBefore = furthest;
    converged = settled || !accepted;
    if (accepted) current = accepted;
  }
  const { ratios } = current;
  if (ratios.some((ratio, k) => ratio > 0 && ratio <= low[k]! * 2)) {
    const atZero = solveModel(
      equations,
      ratios.map((ratio, k) => (ratio <= low[k]! * 2 ? 0 : ratio)),
    );
    evaluations += 1;
    if (atZero) current = atZero;
  }
  const saturated = current.ratios.some((ratio, k) => ratio >= high[k]! * 0.99);
  return { solution: current, converged, saturated, evaluations, nearZero: [] };
}

/** A ratio moved by a relative step: as a power going down, so that it stays above 0. */
function moved(ratio: number, relative: number): number {
  if (relative >= 0) return ratio * (1 + Math.min(relative, 20));
  return relative > -0.7 ? ratio * (1 + relative) : ratio * 0.3 * 10 ** Math.max(-4, (relative + 0.7) * 2);
}

/** Slope and curvature in the ratios' logarithms, in which a step is a relative one. */
function inLogarithms({ gradient, curvature }: Slope, ratios: Float64Array): Slope {
  const factors = ratios.length;
  return {
    gradient: gradient.map((value, k) => value * ratios[k]!),
    curvature: curvature.map(
      (value, at) => value * ratios[Math.floor(at / factors)]! * ratios[at % factors]!,
    ),
  };
}

/** Relative Newton step of the free ratios, the curvature lifted where it is flat or bends the wrong way. */
function newtonMove(free: readonly number[], gradient: Float64Array, curvature: Float64Array): number[] {
  const size = free.length;
  const factors = gradient.length;
  const scaled = new Float64Array(size * size);
  for (const [i, k] of free.entries()) {
    for (const [j, l] of free.entries()) scaled[i * size + j] = curvature[k * factors + l]!;
  }
  const largest = free.reduce((max, _, i) => Math.max(max, scaled[i * size + i]!), 1e-12);
  for (let lift = 1e-10; ; lift = lift * 100) {
    const lifted = scaled.slice();
    for (let i = 0; i < size; i += 1) lifted[i * size + i]! += lift * largest;
    const inverted = invertSmall(lifted, size);
    if (inverted) {
      return free.map((_, i) =>
        free.reduce((sum, l, j) => sum - inverted.inverse[i * size + j]! * gradient[l]!, 0),
      );
    }
  }
}

/** The least ratio looked at of each factor: its effects are then next to nothing beside a row's chance. */
export function leastRatios(equations: NormalEquations): Float64Array {
  return Float64Array.from({ length: equations.factors }, (_, k) => 1e-7 / meanWeight(equations, k));
}

function meanWeight(equations: NormalEquations, factor: number): number {
  const { first, firstWeight, restWeight, restFactor } = equations;
  const weights = factor === first ? firstWeight : restWeight.filter((_, c) => restFactor[c] === factor);
  return weights.reduce((sum, value) => sum + value, 0) / Math.max(1, weights.length);
}
