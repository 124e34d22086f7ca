import type { NormalEquations } from './normal-equations.ts';
import { selectedInverse } from './selected-inverse.ts';
import { invertSmall, multiplySmall } from './small-matrix.ts';
import { factorize, reachedPanels, solve, solveForward } from './sparse-cholesky.ts';

/** A vector over all random effects: levels of the first factor, and the rest in elimination order. */
export interface EffectVector {
  first: Float64Array;
  rest: Float64Array;
}

/**
 * The mixed model solved for given variance ratios γ_k = σ_k²/σ². With V = W⁻¹ + Σ γ_k Z_k Z_kᵀ,
 * P = V⁻¹ − V⁻¹X(XᵀV⁻¹X)⁻¹XᵀV⁻¹, Γ the diagonal of ratios, C = Γ^½ZᵀWZΓ^½ + I.
 */
export interface Solution {
  ratios: Float64Array;
  /** −2 × restricted log-likelihood, σ² profiled out, without the term in log weights. */
  criterion: number;
  /** log |C|, of the random effects alone. */
  logDeterminant: number;
  /** log |XᵀV⁻¹X|. */
  fixedLogDeterminant: number;
  /** yᵀPy, which divided by the degrees of freedom estimates σ². */
  residual: number;
  fixed: Float64Array;
  effects: EffectVector;
  /** ZᵀPy: `effects` is Γ times this. */
  scores: EffectVector;
  /** (XᵀV⁻¹X)⁻¹, columns × columns. */
  fixedCovariance: Float64Array;
  /** ΓZᵀV⁻¹ × each column of X. */
  fixedEffects: EffectVector[];
  /** Cholesky factor of the Schur complement of C on the rest. */
  factor: Float64Array;
  /** 1 / (1 + γ × weight) of each level of the first factor. */
  shrink: Float64Array;
}

/**
 * Solves Henderson's mixed-model equations (1950, 1975) and evaluates the restricted likelihood (Patterson
 * and Thompson 1971) at the given ratios, by blocked Cholesky after Bates, Mächler, Bolker and Walker
 * (2015), "Fitting linear mixed-effects models using lme4", Journal of Statistical Software 67(1).
 *
 * @returns null when the equations cannot be factored in double precision.
 */
export function solveModel(equations: NormalEquations, ratios: Float64Array): Solution | null {
  const { rows, columns, first, xx, xy, yy, firstX, firstY, restX, restY, firstWeight } = equations;
  const firstRatio = first < 0 ? 0 : ratios[first]!;
  const shrink = Float64Array.from(firstWeight, (weight) => 1 / (1 + firstRatio * weight));
  let logDeterminant = 0;
  for (const value of shrink) logDeterminant -= Math.log(value);

  const factor = schurComplement(equations, ratios, shrink);
  const restLog = factorize(equations.layout, factor);
  if (restLog === null) return null;
  logDeterminant += restLog;

  const partial = { equations, ratios, shrink, factor };
  const fixedEffects = firstX.map((column, j) => randomPart(partial, { first: column, rest: restX[j]! }));
  const yEffects = randomPart(partial, { first: firstY, rest: restY });
  const information = xx.slice();
  const right = xy.slice();
  for (let a = 0; a < columns; a += 1) {
    const column = { first: firstX[a]!, rest: restX[a]! };
    for (let b = 0; b < columns; b += 1) information[a * columns + b]! -= dot(column, fixedEffects[b]!);
    right[a]! -= dot(column, yEffects);
  }
  const inverted = invertSmall(information, columns);
  if (!inverted) return null;
  const fixedCovariance = inverted.inverse;
  const fixed = multiplySmall(fixedCovariance, right);
  let residual = yy - dot({ first: firstY, rest: restY }, yEffects);
  for (let a = 0; a < columns; a += 1) residual -= fixed[a]! * right[a]!;
  // Rounding can take what is nothing below nothing.
  residual = Math.max(residual, yy * 1e-15);

  const effects = { first: yEffects.first.slice(), rest: yEffects.rest.slice() };
  const scores = { first: firstY.slice(), rest: restY.slice() };
  for (let j = 0; j < columns; j += 1) {
    addScaled(effects, fixedEffects[j]!, -fixed[j]!);
    addScaled(scores, { first: firstX[j]!, rest: restX[j]! }, -fixed[j]!);
  }
  addScaled(scores, crossProduct(equations, effects), -1);

  const freedom = rows - columns;
  const criterion =
    logDeterminant + inverted.logDeterminant + freedom * (1 + Math.log((2 * Math.PI * residual) / freedom));
  if (!Number.isFinite(criterion)) return null;
  return {
    ratios,
    criterion,
    logDeterminant,
    fixedLogDeterminant: inverted.logDeterminant,
    residual,
    fixed,
    effects,
    scores,
    fixedCovariance,
    fixedEffects,
    factor,
    shrink,
  };
}

/** Slope of the criterion in the ratios, and its average-information curvature. */
export interface Slope {
  gradient: Float64Array;
  /** factors × factors, positive semidefinite. */
  curvature: Float64Array;
}

/**
 * Exact first derivatives of the criterion in the ratios (all above 0), and the average of observed and
 * expected second derivatives: Gilmour, Thompson and Cullis (1995), "Average information REML", Biometrics
 * 51(4), with σ² profiled out.
 *
 * @param known σ², where it is known instead
 */
export function slopeOf(equations: NormalEquations, solution: Solution, known?: number): Slope {
  const { factors, first, restFactor, rows, columns } = equations;
  const { ratios, residual, scores, fixedCovariance, fixedEffects } = solution;
  const freedom = rows - columns;
  const variance = known ?? residual / freedom;

  // tr(Z_kᵀV⁻¹Z_k) = Σ over the factor's levels of (1 − C⁻¹ diagonal) / γ_k.
  const trace = new Float64Array(factors);
  const inverse = inverseDiagonal(equations, solution);
  for (const value of inverse.first) trace[first]! += (1 - value) / ratios[first]!;
  for (let c = 0; c < restFactor.length; c += 1) {
    trace[restFactor[c]!]! += (1 - inverse.rest[c]!) / ratios[restFactor[c]!]!;
  }
  // ... less what estimating β takes: Z_kᵀV⁻¹X is the random part of X divided by γ_k.
  for (let a = 0; a < columns; a += 1) {
    for (let b = 0; b < columns; b += 1) {
      const products = dotByFactor(equations, fixedEffects[a]!, fixedEffects[b]!);
      for (let k = 0; k < factors; k += 1) {
        trace[k]! -= (fixedCovariance[a * columns + b]! * products[k]!) / (ratios[k]! * ratios[k]!);
      }
    }
  }

  const explained = dotByFactor(equations, scores, scores);
  const gradient = Float64Array.from(trace, (value, k) => value - explained[k]! / variance);
  const curvature = new Float64Array(factors * factors);
  for (let k = 0; k < factors; k += 1) {
    const working = onlyFactor(equations, scores, k);
    const projected = projectedScores(equations, solution, working);
    const products = dotByFactor(equations, scores, projected);
    for (let l = 0; l < factors; l += 1) {
      const profiled = (explained[k]! * explained[l]!) / (variance * variance * freedom);
      curvature[k * factors + l] = products[l]! / variance - (known === undefined ? profiled : 0);
    }
  }
  return { gradient, curvature };
}

/** Diagonal of C⁻¹: for each effect its prediction error variance over its variance, β taken as known. */
export function inverseDiagonal(equations: NormalEquations, solution: Solution): EffectVector {
  const { first, layout, meets, byRestStart, byRest, byRestLevel } = equations;
  const { ratios, shrink, factor } = solution;
  const z = selectedInverse(layout, factor);
  const { panels, columnStart, rowStart, rows, valueStart, size } = layout;
  const rest = new Float64Array(size);
  const around = new Float64Array(shrink.length);
  const weights = rootScaled(equations, ratios);
  const localRow = new Int32Array(size);
  for (let p = 0; p < panels; p += 1) {
    const start = columnStart[p]!;
    const width = columnStart[p + 1]! - start;
    for (let i = 0; i < rowStart[p + 1]! - rowStart[p]!; i += 1) {
      localRow[rows[rowStart[p]! + i]!] = valueStart[p]! + i * width - start;
    }
    for (let c = start; c < start + width; c += 1) {
      rest[c] = z[localRow[c]! + c]!;
      for (let at = byRestStart[c]!; at < byRestStart[c + 1]!; at += 1) {
        const entry = byRest[at]!;
        const level = byRestLevel[at]!;
        const end = meets.start[level + 1]!;
        let s = 0.5 * weights[entry]! * rest[c]!;
        for (let e = entry + 1; e < end; e += 1) s += weights[e]! * z[localRow[meets.members[e]!]! + c]!;
        around[level]! += 2 * weights[entry]! * s;
      }
    }
  }
  const firstRatio = first < 0 ? 0 : ratios[first]!;
  for (let level = 0; level < shrink.length; level += 1) {
    const s = shrink[level]!;
    around[level] = s + firstRatio * s * s * around[level]!;
  }
  return { first: around, rest };
}

/** Γ Zᵀ V⁻¹ v, given Zᵀ W v: the random part of a solution whose data is v. */
export function randomPart(
  at: { equations: NormalEquations } & Pick<Solution, 'ratios' | 'shrink' | 'factor'>,
  right: EffectVector,
): EffectVector {
  const { equations, ratios, shrink, factor } = at;
  const { first, restFactor, meets, meetWeight, layout } = equations;
  const firstRatio = first < 0 ? 0 : ratios[first]!;
  const rest = right.rest.slice();
  const carried = new Float64Array(shrink.length);
  for (let level = 0; level < shrink.length; level += 1) {
    const value = firstRatio * shrink[level]! * right.first[level]!;
    for (let e = meets.start[level]!; e < meets.start[level + 1]!; e += 1) {
      rest[meets.members[e]!]! -= meetWeight[e]! * value;
    }
  }
  for (let c = 0; c < rest.length; c += 1) rest[c]! *= Math.sqrt(ratios[restFactor[c]!]!);
  solve(layout, factor, rest);
  for (let c = 0; c < rest.length; c += 1) rest[c]! *= Math.sqrt(ratios[restFactor[c]!]!);
  for (let level = 0; level < shrink.length; level += 1) {
    let s = right.first[level]!;
    for (let e = meets.start[level]!; e < meets.start[level + 1]!; e += 1) {
      s -= meetWeight[e]! * rest[meets.members[e]!]!;
    }
    carried[level] = firstRatio * shrink[level]! * s;
  }
  return { first: carried, rest };
}

/** Where a level's effect is in an `EffectVector`. */
export interface EffectPlace {
  part: keyof EffectVector;
  index: number;
  /** How often it is in the sum. */
  times: number;
}

/**
 * Covariance of the prediction errors of sums of effects, over σ² and with β taken as known, square, row by row:
 * the entries uᵀ(ZᵀWZ + Γ⁻¹)⁻¹v. By the Cholesky factor each is a scalar product of two forward substitutions, and
 * those of one connected part of the system go through that part only.
 */
export function randomCovariance(
  equations: NormalEquations,
  solution: Pick<Solution, 'ratios' | 'shrink' | 'factor'>,
  sums: readonly (readonly EffectPlace[])[],
): Float64Array {
  const { first, restFactor, meets, meetWeight, layout } = equations;
  const { ratios, shrink, factor } = solution;
  const firstRatio = first < 0 ? 0 : ratios[first]!;
  const reduced = sums.map((places) => {
    const own = new Map<number, number>();
    const rest = new Map<number, number>();
    for (const { part, index, times } of places) {
      addTo(part === 'first' ? own : rest, index, times);
      if (part === 'rest') continue;
      for (let e = meets.start[index]!; e < meets.start[index + 1]!; e += 1) {
        addTo(rest, meets.members[e]!, -times * meetWeight[e]! * firstRatio * shrink[index]!);
      }
    }
    return { levels: [...own.keys()], times: [...own.values()], rest };
  });
  const { from, until } = reachedPanels(
    layout,
    reduced.flatMap(({ rest }) => [...rest.keys()]),
  );
  const begin = layout.columnStart[from]!;
  const width = layout.columnStart[until]! - begin;
  const size = sums.length;
  // Row by row, each after forward substitution; `starts` says where it ceases to be 0.
  const solved = new Float64Array(size * width);
  const starts = new Int32Array(size).fill(width);
  for (const [i, { rest }] of reduced.entries()) {
    const vector = solved.subarray(i * width, (i + 1) * width);
    for (const [c, value] of rest) {
      vector[c - begin] = value * Math.sqrt(ratios[restFactor[c]!]!);
      starts[i] = Math.min(starts[i]!, c - begin);
    }
    solveForward(layout, factor, vector, from, until);
  }
  const covariance = squareOfRows(solved, width, starts);
  for (let i = 0; i < size; i += 1) {
    const { levels, times } = reduced[i]!;
    for (let j = 0; j <= i; j += 1) {
      const other = reduced[j]!;
      for (let a = 0; a < levels.length; a += 1) {
        const b = other.levels.indexOf(levels[a]!);
        if (b < 0) continue;
        covariance[i * size + j]! += times[a]! * other.times[b]! * firstRatio * shrink[levels[a]!]!;
      }
      covariance[j * size + i] = covariance[i * size + j]!;
    }
  }
  return covariance;
}

/** Scalar products of rows of one width with each other, on and below the diagonal. */
function squareOfRows(rows: Float64Array, width: number, starts: Int32Array): Float64Array {
  const size = starts.length;
  const out = new Float64Array(size * size);
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      const start = Math.max(starts[i]!, starts[j]!);
      let b = j * width + start;
      let value = 0;
      for (let a = i * width + start; a < (i + 1) * width; a += 1, b += 1) value += rows[a]! * rows[b]!;
      out[i * size + j] = value;
    }
  }
  return out;
}

function addTo(sums: Map<number, number>, key: number, value: number): void {
  sums.set(key, (sums.get(key) ?? 0) + value);
}

function dot(a: EffectVector, b: EffectVector): number {
  let total = 0;
  for (let i = 0; i < a.first.length; i += 1) total += a.first[i]! * b.first[i]!;
  for (let i = 0; i < a.rest.length; i += 1) total += a.rest[i]! * b.rest[i]!;
  return total;
}

function dotByFactor(equations: NormalEquations, a: EffectVector, b: EffectVector): Float64Array {
  const { first, factors, restFactor } = equations;
  const totals = new Float64Array(factors);
  for (let i = 0; i < a.first.length; i += 1) totals[first]! += a.first[i]! * b.first[i]!;
  for (let i = 0; i < a.rest.length; i += 1) totals[restFactor[i]!]! += a.rest[i]! * b.rest[i]!;
  return totals;
}

function onlyFactor(equations: NormalEquations, vector: EffectVector, factor: number): EffectVector {
  const { first, restFactor } = equations;
  return {
    first: factor === first ? vector.first.slice() : new Float64Array(vector.first.length),
    rest: vector.rest.map((value, i) => (restFactor[i] === factor ? value : 0)),
  };
}

/** ZᵀP(Zv). */
function projectedScores(equations: NormalEquations, solution: Solution, v: EffectVector): EffectVector {
  const { columns, firstX, restX } = equations;
  const { fixedCovariance, fixedEffects } = solution;
  const result = crossProduct(equations, v);
  const random = randomPart({ equations, ...solution }, result);
  const right = new Float64Array(columns);
  for (let a = 0; a < columns; a += 1) {
    right[a] = dot({ first: firstX[a]!, rest: restX[a]! }, v) - dot(fixedEffects[a]!, result);
  }
  const fixed = multiplySmall(fixedCovariance, right);
  for (let a = 0; a < columns; a += 1) {
    addScaled(random, fixedEffects[a]!, -fixed[a]!);
    addScaled(result, { first: firstX[a]!, rest: restX[a]! }, -fixed[a]!);
  }
  addScaled(result, crossProduct(equations, random), -1);
  return result;
}

/** ZᵀWZ v. */
function crossProduct(equations: NormalEquations, v: EffectVector): EffectVector {
  const { firstWeight, restWeight, meets, meetWeight, crossStart, crossRow, crossWeight } = equations;
  const first = v.first.map((value, level) => value * firstWeight[level]!);
  const rest = v.rest.map((value, c) => value * restWeight[c]!);
  for (let level = 0; level < first.length; level += 1) {
    const value = v.first[level]!;
    let s = 0;
    for (let e = meets.start[level]!; e < meets.start[level + 1]!; e += 1) {
      const c = meets.members[e]!;
      s += meetWeight[e]! * v.rest[c]!;
      rest[c]! += meetWeight[e]! * value;
    }
    first[level]! += s;
  }
  for (let c = 0; c < rest.length; c += 1) {
    for (let e = crossStart[c]!; e < crossStart[c + 1]!; e += 1) {
      rest[c]! += crossWeight[e]! * v.rest[crossRow[e]!]!;
      rest[crossRow[e]!]! += crossWeight[e]! * v.rest[c]!;
    }
  }
  return { first, rest };
}

/** Weights in common, times the root of the rest factor's ratio. */
function rootScaled(equations: NormalEquations, ratios: Float64Array): Float64Array {
  const { meets, meetWeight, restFactor } = equations;
  const roots = ratios.map(Math.sqrt);
  const out = new Float64Array(meetWeight.length);
  const { members } = meets;
  for (let e = 0; e < out.length; e += 1) out[e] = meetWeight[e]! * roots[restFactor[members[e]!]!]!;
  return out;
}

function schurComplement(
  equations: NormalEquations,
  ratios: Float64Array,
  shrink: Float64Array,
): Float64Array {
  const { first, layout, restFactor, restWeight, meets, byRestStart, byRest, byRestLevel } = equations;
  const { crossStart, crossRow, crossWeight } = equations;
  const { panels, columnStart, rowStart, rows, valueStart, size } = layout;
  const values = new Float64Array(valueStart[panels]!);
  const firstRatio = first < 0 ? 0 : ratios[first]!;
  const weights = rootScaled(equations, ratios);
  const roots = ratios.map(Math.sqrt);
  const localRow = new Int32Array(size);
  for (let p = 0; p < panels; p += 1) {
    const start = columnStart[p]!;
    const width = columnStart[p + 1]! - start;
    for (let i = 0; i < rowStart[p + 1]! - rowStart[p]!; i += 1) {
      localRow[rows[rowStart[p]! + i]!] = valueStart[p]! + i * width - start;
    }
    for (let c = start; c < start + width; c += 1) {
      values[localRow[c]! + c] = 1 + ratios[restFactor[c]!]! * restWeight[c]!;
      const root = roots[restFactor[c]!]!;
      for (let e = crossStart[c]!; e < crossStart[c + 1]!; e += 1) {
        const row = crossRow[e]!;
        values[localRow[row]! + c]! += crossWeight[e]! * root * roots[restFactor[row]!]!;
      }
      for (let at = byRestStart[c]!; at < byRestStart[c + 1]!; at += 1) {
        const level = byRestLevel[at]!;
        const end = meets.start[level + 1]!;
        const scale = firstRatio * shrink[level]! * weights[byRest[at]!]!;
        for (let e = byRest[at]!; e < end; e += 1) {
          values[localRow[meets.members[e]!]! + c]! -= scale * weights[e]!;
        }
      }
    }
  }
  return values;
}

function addScaled(target: EffectVector, source: EffectVector, scale: number): void {
  for (let i = 0; i < target.first.length; i += 1) target.first[i]! += scale * source.first[i]!;
  for (let i = 0; i < target.rest.length; i += 1) target.rest[i]! += scale * source.rest[i]!;
}
