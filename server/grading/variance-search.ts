import type { NormalEquations } from './normal-equations.ts';
import { invertSmall, type Solution, slopeOf, solveModel } from './restricted-likelihood.ts';

export interface VarianceSearch {
  solution: Solution;
  converged: boolean;
  /** Some ratio went as high as is looked: next to nothing is left for the residual. */
  saturated: boolean;
  /** Factorisations done. */
  evaluations: number;
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
export function searchVariances(equations: NormalEquations): VarianceSearch | null {
  const { factors } = equations;
  const low = new Float64Array(factors);
  const high = new Float64Array(factors);
  for (let k = 0; k < factors; k += 1) {
    const perLevel = meanWeight(equations, k);
    low[k] = 1e-7 / perLevel;
    high[k] = 1e6 / perLevel;
  }
  const within = (value: number, k: number) => Math.min(high[k]!, Math.max(low[k]!, value));

  let evaluations = 1;
  let current = solveModel(equations, momentRatios(equations).map(within));
  if (!current) return null;
  let converged = factors === 0;
  const goal = equations.layout.valueStart.at(-1)! < dearFrom ? goals.cheap : goals.dear;
  let gainBefore = 0;
  let moveBefore = 0;
  for (let step = 0; step < longestSearch && !converged; step += 1) {
    const { gradient, curvature } = slopeOf(equations, current);
    const { ratios } = current;
    const free: number[] = [];
    for (let k = 0; k < factors; k += 1) {
      if (!(ratios[k]! <= low[k]! && gradient[k]! >= 0)) free.push(k);
    }
    const move = newtonMove(free, ratios, gradient, curvature);
    const gain = move.reduce(
      (sum, value, i) => sum - 0.5 * value * gradient[free[i]!]! * ratios[free[i]!]!,
      0,
    );
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
  return { solution: current, converged, saturated, evaluations };
}

/** A ratio moved by a relative step: as a power going down, so that it stays above 0. */
function moved(ratio: number, relative: number): number {
  if (relative >= 0) return ratio * (1 + Math.min(relative, 20));
  return relative > -0.7 ? ratio * (1 + relative) : ratio * 0.3 * 10 ** Math.max(-4, (relative + 0.7) * 2);
}

/** Relative Newton step of the free ratios, the curvature lifted a little where it is flat. */
function newtonMove(
  free: readonly number[],
  ratios: Float64Array,
  gradient: Float64Array,
  curvature: Float64Array,
): number[] {
  const size = free.length;
  const factors = ratios.length;
  const scaled = new Float64Array(size * size);
  for (const [i, k] of free.entries()) {
    for (const [j, l] of free.entries()) {
      scaled[i * size + j] = curvature[k * factors + l]! * ratios[k]! * ratios[l]!;
    }
  }
  const largest = free.reduce((max, _, i) => Math.max(max, scaled[i * size + i]!), 1e-12);
  for (let lift = 1e-10; ; lift = lift * 100) {
    const lifted = scaled.slice();
    for (let i = 0; i < size; i += 1) lifted[i * size + i]! += lift * largest;
    const inverted = invertSmall(lifted, size);
    if (inverted) {
      return free.map((_, i) =>
        free.reduce((sum, l, j) => sum - inverted.inverse[i * size + j]! * gradient[l]! * ratios[l]!, 0),
      );
    }
  }
}

function meanWeight(equations: NormalEquations, factor: number): number {
  const { first, firstWeight, restWeight, restFactor } = equations;
  const weights = factor === first ? firstWeight : restWeight.filter((_, c) => restFactor[c] === factor);
  return weights.reduce((sum, value) => sum + value, 0) / Math.max(1, weights.length);
}

/**
 * Where to start: variances that make the sums of squares of each factor's level means equal to what is
 * expected of them (Henderson 1953, "Estimation of variance and covariance components", Biometrics 9(2),
 * method 1), as ratios to the residual's. Negative ones come out as 0.
 */
export function momentRatios(equations: NormalEquations): Float64Array {
  const { factors, rows, yy, first, firstWeight, firstY, restFactor, restWeight, restY } = equations;
  const { meets, meetWeight, crossStart, crossRow, crossWeight } = equations;
  const levels = new Float64Array(factors);
  const squares = new Float64Array(factors);
  const total = new Float64Array(factors);
  const spread = new Float64Array(factors);
  const shared = new Float64Array(factors * factors);
  const add = (k: number, weight: number, y: number) => {
    levels[k]! += 1;
    total[k]! += weight;
    spread[k]! += weight * weight;
    squares[k]! += (y * y) / weight;
  };
  for (let l = 0; l < firstWeight.length; l += 1) add(first, firstWeight[l]!, firstY[l]!);
  for (let c = 0; c < restWeight.length; c += 1) add(restFactor[c]!, restWeight[c]!, restY[c]!);
  for (let l = 0; l < firstWeight.length; l += 1) {
    for (let e = meets.start[l]!; e < meets.start[l + 1]!; e += 1) {
      const c = meets.members[e]!;
      const square = meetWeight[e]! * meetWeight[e]!;
      shared[first * factors + restFactor[c]!]! += square / firstWeight[l]!;
      shared[restFactor[c]! * factors + first]! += square / restWeight[c]!;
    }
  }
  for (let c = 0; c < restWeight.length; c += 1) {
    for (let e = crossStart[c]!; e < crossStart[c + 1]!; e += 1) {
      const row = crossRow[e]!;
      const square = crossWeight[e]! * crossWeight[e]!;
      shared[restFactor[c]! * factors + restFactor[row]!]! += square / restWeight[c]!;
      shared[restFactor[row]! * factors + restFactor[c]!]! += square / restWeight[row]!;
    }
  }

  // Row by row: expectation of the factor's (last: the total) sum of squares in σ_1², ..., σ².
  const size = factors + 1;
  const system: number[][] = [];
  for (let k = 0; k < size; k += 1) {
    const row: number[] = [];
    for (let j = 0; j < factors; j += 1) {
      const own = k === factors || k === j ? total[j]! : shared[k * factors + j]!;
      row.push(own - spread[j]! / total[j]!);
    }
    row.push((k === factors ? rows : levels[k]!) - 1, k === factors ? yy : squares[k]!);
    system.push(row);
  }
  const variances = eliminate(system);
  const residual = variances[factors]! > 0 ? variances[factors]! : yy / rows;
  return Float64Array.from({ length: factors }, (_, k) => {
    const ratio = variances[k]! / residual;
    return Number.isFinite(ratio) && ratio > 0 ? ratio : 0.05 * (levels[k]! / Math.max(1, total[k]!));
  });
}

/** Solves a small linear system given with its right side as last column; pivots that vanish give 0. */
function eliminate(system: number[][]): number[] {
  const size = system.length;
  for (let c = 0; c < size; c += 1) {
    let best = c;
    for (let r = c + 1; r < size; r += 1)
      if (Math.abs(system[r]![c]!) > Math.abs(system[best]![c]!)) best = r;
    [system[c], system[best]] = [system[best]!, system[c]!];
    const pivot = system[c]![c]!;
    if (Math.abs(pivot) < 1e-12) continue;
    for (let r = 0; r < size; r += 1) {
      if (r === c) continue;
      const times = system[r]![c]! / pivot;
      for (let j = c; j <= size; j += 1) system[r]![j]! -= times * system[c]![j]!;
    }
  }
  return system.map((row, c) => (Math.abs(row[c]!) < 1e-12 ? 0 : row[size]! / row[c]!));
}
