import type { EffectVector, Solution } from '../restricted-likelihood.ts';
import { selectedInverse } from '../selected-inverse.ts';
import type { WorkingEquations } from './working-equations.ts';

/** How uncertain effects and linear predictors are, at given variances (σ² = 1). */
export interface Leverages {
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
  const { equations, firstLevel, others, restLevel, meetEntry, crossEntry, fixed } = work;
  const { first, layout, meets, meetWeight, restFactor, crossStart, crossRow, columns } = equations;
  const { ratios, shrink, factor, fixedCovariance, fixedEffects } = solution;
  const { panels, columnStart, rowStart, rows, valueStart, size } = layout;
  const z = selectedInverse(layout, factor);
  const firstRatio = first < 0 ? 0 : ratios[first]!;
  const firstRoot = Math.sqrt(firstRatio);
  const roots = ratios.map(Math.sqrt);
  const rest = new Float64Array(size);
  // Entries of the inverse between rest levels that meet in a row, and times which B they go to the first level.
  const cross = new Float64Array(crossRow.length);
  const meet = new Float64Array(meetWeight.length);
  const localRow = new Int32Array(size);
  for (let p = 0; p < panels; p += 1) {
    const start = columnStart[p]!;
    const width = columnStart[p + 1]! - start;
    for (let i = 0; i < rowStart[p + 1]! - rowStart[p]!; i += 1) {
      localRow[rows[rowStart[p]! + i]!] = valueStart[p]! + i * width - start;
    }
    for (let c = start; c < start + width; c += 1) {
      const own = z[localRow[c]! + c]!;
      rest[c] = own;
      for (let e = crossStart[c]!; e < crossStart[c + 1]!; e += 1) cross[e] = z[localRow[crossRow[e]!]! + c]!;
      for (let at = equations.byRestStart[c]!; at < equations.byRestStart[c + 1]!; at += 1) {
        const entry = equations.byRest[at]!;
        const end = meets.start[equations.byRestLevel[at]! + 1]!;
        const weight = meetWeight[entry]! * roots[restFactor[c]!]!;
        meet[entry]! += weight * own;
        for (let e = entry + 1; e < end; e += 1) {
          const other = meets.members[e]!;
          const value = z[localRow[other]! + c]!;
          meet[entry]! += meetWeight[e]! * roots[restFactor[other]!]! * value;
          meet[e]! += weight * value;
        }
      }
    }
  }
  const around = new Float64Array(shrink.length);
  for (let level = 0; level < shrink.length; level += 1) {
    const s = shrink[level]!;
    let total = 0;
    for (let e = meets.start[level]!; e < meets.start[level + 1]!; e += 1) {
      total += meetWeight[e]! * roots[restFactor[meets.members[e]!]!]! * meet[e]!;
    }
    around[level] = s + firstRatio * s * s * total;
  }

  const count = firstLevel.length;
  const pairs = (others * (others - 1)) / 2;
  const out = work.room.spread;
  for (let row = 0; row < count; row += 1) {
    const level = firstLevel[row]!;
    let value = first < 0 ? 0 : firstRatio * around[level]!;
    const toFirst = first < 0 ? 0 : -2 * firstRoot * shrink[level]! * firstRoot;
    for (let k = 0; k < others; k += 1) {
      const c = restLevel[row * others + k]!;
      const root = roots[restFactor[c]!]!;
      value += root * root * rest[c]! + toFirst * root * meet[meetEntry[row * others + k]!]!;
    }
    let pair = row * pairs;
    for (let k = 0; k < others; k += 1) {
      const a = roots[restFactor[restLevel[row * others + k]!]!]!;
      for (let l = k + 1; l < others; l += 1) {
        value += 2 * a * roots[restFactor[restLevel[row * others + l]!]!]! * cross[crossEntry[pair++]!]!;
      }
    }
    out[row] = value;
  }
  const effects = { first: around, rest };
  if (!withFixed || columns === 0) return { rows: out, effects };

  const left = new Float64Array(columns);
  for (let row = 0; row < count; row += 1) {
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
    if (!(firstRatio > 0)) break;
    for (let a = 0; a < columns; a += 1) left[a] = fixedEffects[a]!.first[level]!;
    around[level]! += quadratic(fixedCovariance, left) / firstRatio;
  }
  for (let c = 0; c < size; c += 1) {
    const ratio = ratios[restFactor[c]!]!;
    if (!(ratio > 0)) continue;
    for (let a = 0; a < columns; a += 1) left[a] = fixedEffects[a]!.rest[c]!;
    rest[c]! += quadratic(fixedCovariance, left) / ratio;
  }
  return { rows: out, effects };
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
