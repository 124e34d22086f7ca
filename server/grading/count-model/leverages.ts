import type { NormalEquations } from '../normal-equations.ts';
import type { EffectVector, Solution } from '../restricted-likelihood.ts';
import { selectedInverse } from '../selected-inverse.ts';
import type { WorkingEquations } from './working-equations.ts';

/** How uncertain effects and linear predictors are, at given variances (σ² = 1). */
interface Leverages {
  /** Variance of each row's linear predictor: a_iᵀH⁻¹a_i with H the information of all effects, prior included; in the equations' room. */
  rows: Float64Array;
  /** Posterior variance of each effect over its prior variance (over the limit, where that is 0). */
  effects: EffectVector;
}

/**
 * Variances of the rows' linear predictors from those entries of the inverse that the factor's layout holds
 * (Takahashi, Fagan and Chen 1973): a row's own levels are tied to each other, so all that it needs is among them.
 *
 * @param withFixed whether the fixed effects of the solution count as uncertain too (a flat prior), else as known
 */
export function leverages(work: WorkingEquations, solution: Solution, withFixed: boolean): Leverages {
  const { equations } = work;
  const between = inverseBetween(equations, solution);
  const effects = { first: aroundFirst(equations, solution, between.meet), rest: between.rest };
  spreadRows(work, solution, between, effects.first);
  if (withFixed && equations.columns > 0) addFixed(work, solution, effects);
  return { rows: work.room.spread, effects };
}

/** Entries of the inverse among rest levels: the diagonal, those that meet in a row, and these times B to the first. */
interface Between {
  rest: Float64Array;
  cross: Float64Array;
  meet: Float64Array;
}

function inverseBetween(equations: NormalEquations, { ratios, factor }: Solution): Between {
  const { layout, meetWeight, restFactor, crossStart, crossRow } = equations;
  const { panels, columnStart, rowStart, rows, valueStart, size } = layout;
  const z = selectedInverse(layout, factor);
  const roots = Float64Array.from(restFactor, (k) => Math.sqrt(ratios[k]!));
  const rest = new Float64Array(size);
  const cross = new Float64Array(crossRow.length);
  const meet = new Float64Array(meetWeight.length);
  const localRow = new Int32Array(size);
  for (let p = 0; p < panels; p += 1) {
    const start = columnStart[p]!;
    const end = columnStart[p + 1]!;
    const width = end - start;
    for (let i = 0; i < rowStart[p + 1]! - rowStart[p]!; i += 1) {
      localRow[rows[rowStart[p]! + i]!] = valueStart[p]! + i * width - start;
    }
    for (let c = start; c < end; c += 1) {
      rest[c] = z[localRow[c]! + c]!;
      for (let e = crossStart[c]!; e < crossStart[c + 1]!; e += 1) cross[e] = z[localRow[crossRow[e]!]! + c]!;
      addMeets(equations, roots, z, localRow, c, meet);
    }
  }
  return { rest, cross, meet };
}

/** What column c of the inverse adds to the products with B, on both sides of its diagonal. */
function addMeets(
  { meets, meetWeight, byRestStart, byRest, byRestLevel }: NormalEquations,
  roots: Float64Array,
  z: Float64Array,
  localRow: Int32Array,
  c: number,
  meet: Float64Array,
): void {
  const { start, members } = meets;
  const own = z[localRow[c]! + c]!;
  const root = roots[c]!;
  for (let at = byRestStart[c]!; at < byRestStart[c + 1]!; at += 1) {
    const entry = byRest[at]!;
    const end = start[byRestLevel[at]! + 1]!;
    const weight = meetWeight[entry]! * root;
    let sum = weight * own;
    for (let e = entry + 1; e < end; e += 1) {
      const other = members[e]!;
      const value = z[localRow[other]! + c]!;
      sum += meetWeight[e]! * roots[other]! * value;
      meet[e]! += weight * value;
    }
    meet[entry]! += sum;
  }
}

function aroundFirst(
  { first, meets, meetWeight, restFactor }: NormalEquations,
  { ratios, shrink }: Solution,
  meet: Float64Array,
): Float64Array {
  const firstRatio = first < 0 ? 0 : ratios[first]!;
  const roots = ratios.map(Math.sqrt);
  const { start, members } = meets;
  const around = new Float64Array(shrink.length);
  for (let level = 0; level < around.length; level += 1) {
    const s = shrink[level]!;
    let total = 0;
    for (let e = start[level]!; e < start[level + 1]!; e += 1) {
      total += meetWeight[e]! * roots[restFactor[members[e]!]!]! * meet[e]!;
    }
    around[level] = s + firstRatio * s * s * total;
  }
  return around;
}

function spreadRows(
  { equations, firstLevel, others, restLevel, meetEntry, crossEntry, room }: WorkingEquations,
  { ratios, shrink }: Solution,
  { rest, cross, meet }: Between,
  around: Float64Array,
): void {
  const { first, restFactor } = equations;
  const firstRatio = first < 0 ? 0 : ratios[first]!;
  const roots = ratios.map(Math.sqrt);
  const pairs = (others * (others - 1)) / 2;
  const out = room.spread;
  for (let row = 0; row < out.length; row += 1) {
    const level = firstLevel[row]!;
    let value = first < 0 ? 0 : firstRatio * around[level]!;
    const toFirst = first < 0 ? 0 : -2 * firstRatio * shrink[level]!;
    let pair = row * pairs;
    for (let k = row * others; k < (row + 1) * others; k += 1) {
      const c = restLevel[k]!;
      const root = roots[restFactor[c]!]!;
      value += root * root * rest[c]! + toFirst * root * meet[meetEntry[k]!]!;
      for (let l = k + 1; l < (row + 1) * others; l += 1) {
        value += 2 * root * roots[restFactor[restLevel[l]!]!]! * cross[crossEntry[pair++]!]!;
      }
    }
    out[row] = value;
  }
}

/** What estimating the fixed effects adds. */
function addFixed(
  { equations, firstLevel, others, restLevel, fixed, room }: WorkingEquations,
  { ratios, fixedCovariance, fixedEffects }: Solution,
  { first: around, rest }: EffectVector,
): void {
  const { first, restFactor, columns } = equations;
  const out = room.spread;
  const left = new Float64Array(columns);
  for (let row = 0; row < out.length; row += 1) {
    for (let a = 0; a < columns; a += 1) {
      let value = fixed[a]![row]!;
      if (first >= 0) value -= fixedEffects[a]!.first[firstLevel[row]!]!;
      for (let at = row * others; at < (row + 1) * others; at += 1) {
        value -= fixedEffects[a]!.rest[restLevel[at]!]!;
      }
      left[a] = value;
    }
    out[row]! += quadratic(fixedCovariance, left);
  }
  for (let level = 0; level < around.length; level += 1) {
    if (!(ratios[first]! > 0)) break;
    for (let a = 0; a < columns; a += 1) left[a] = fixedEffects[a]!.first[level]!;
    around[level]! += quadratic(fixedCovariance, left) / ratios[first]!;
  }
  for (let c = 0; c < rest.length; c += 1) {
    const ratio = ratios[restFactor[c]!]!;
    if (!(ratio > 0)) continue;
    for (let a = 0; a < columns; a += 1) left[a] = fixedEffects[a]!.rest[c]!;
    rest[c]! += quadratic(fixedCovariance, left) / ratio;
  }
}

function quadratic(matrix: Float64Array, vector: Float64Array): number {
  const size = vector.length;
  let total = 0;
  for (let a = 0; a < size; a += 1) {
    const value = vector[a]!;
    if (value === 0) continue;
    for (let b = 0; b < size; b += 1) total += value * matrix[a * size + b]! * vector[b]!;
  }
  return total;
}
