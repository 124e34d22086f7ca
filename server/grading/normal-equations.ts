import type { Cliques } from './minimum-degree.ts';
import { type CholeskyLayout, planCholesky } from './sparse-cholesky.ts';

/**
 * What the rows say, condensed for the mixed model y = Xβ + Σ_k Z_k b_k + ε: the weighted cross-products,
 * by blocks. Nothing that comes later touches the rows again, so its cost does not depend on how many
 * there are.
 *
 * The factor with most levels is *first*: its block is diagonal, and it is eliminated by hand. The levels
 * of all other factors are *rest*, numbered in the order in which `layout` eliminates them.
 */
export interface NormalEquations {
  rows: number;
  /** Columns of X. */
  columns: number;
  /** Factors in the model; `first` is the index of the one with most levels, −1 when there is no factor. */
  factors: number;
  first: number;
  /** XᵀWX, columns × columns, row by row. */
  xx: Float64Array;
  xy: Float64Array;
  yy: number;
  /** ZᵀW(X columns..., y) for the first factor's levels; the diagonal of its ZᵀWZ. */
  firstWeight: Float64Array;
  firstX: Float64Array[];
  firstY: Float64Array;
  /** The same for the rest, with each level's factor. */
  restFactor: Int32Array;
  restWeight: Float64Array;
  restX: Float64Array[];
  restY: Float64Array;
  /** For each level of the first factor the rest levels it meets, ascending, with the weight in common. */
  meets: Cliques;
  meetWeight: Float64Array;
  /** The same entries by rest level: those of level c are `byRest[byRestStart[c]]`..., as entry and first level. */
  byRestStart: Int32Array;
  byRest: Int32Array;
  byRestLevel: Int32Array;
  /** Weight in common between rest levels of different factors: below the diagonal, by column. */
  crossStart: Int32Array;
  crossRow: Int32Array;
  crossWeight: Float64Array;
  layout: CholeskyLayout;
  /** Where level l of factor k is: in the rest at `place[k][l]`, or l itself for the first factor. */
  place: (Int32Array | null)[];
}

export interface CodedFactor {
  /** Level of each row. */
  codes: Int32Array;
  levels: number;
}

/** Condenses the rows. All weights must be above 0 and finite, each factor's codes within its levels. */
export function normalEquations(
  response: Float64Array,
  weights: Float64Array,
  fixed: readonly Float64Array[],
  factors: readonly CodedFactor[],
): NormalEquations {
  const rows = response.length;
  const columns = fixed.length;
  let first = factors.length > 0 ? 0 : -1;
  for (let k = 1; k < factors.length; k += 1) if (factors[k]!.levels > factors[first]!.levels) first = k;
  const firstLevels = first < 0 ? 0 : factors[first]!.levels;
  const firstCodes = first < 0 ? new Int32Array(rows) : factors[first]!.codes;

  const others: number[] = [];
  const offset: number[] = [];
  let restSize = 0;
  for (let k = 0; k < factors.length; k += 1) {
    offset.push(k === first ? -1 : restSize);
    if (k === first) continue;
    others.push(k);
    restSize += factors[k]!.levels;
  }

  // The rest levels that each level of the first factor meets, before renumbering.
  const byLevel = groupRows(firstCodes, Math.max(1, firstLevels));
  const meetStart = new Int32Array(firstLevels + 1);
  const found = new Int32Array(rows * others.length);
  const foundWeight = new Float64Array(rows * others.length);
  const slot = new Int32Array(restSize).fill(-1);
  let entries = 0;
  for (let level = 0; level < firstLevels; level += 1) {
    const begin = entries;
    for (let r = byLevel.start[level]!; r < byLevel.start[level + 1]!; r += 1) {
      const row = byLevel.rows[r]!;
      for (const k of others) {
        const unknown = offset[k]! + factors[k]!.codes[row]!;
        let at = slot[unknown]!;
        if (at < begin) {
          at = entries++;
          slot[unknown] = at;
          found[at] = unknown;
        }
        foundWeight[at]! += weights[row]!;
      }
    }
    meetStart[level + 1] = entries;
  }
  const unordered = { start: meetStart, members: found.subarray(0, entries) };
  const layout = planCholesky(restSize, unordered);
  const { rank, order } = layout;

  // By rest level in elimination order; filling rows of `meets` from it leaves them sorted.
  const byRestStart = new Int32Array(restSize + 1);
  for (let e = 0; e < entries; e += 1) byRestStart[rank[found[e]!]! + 1]! += 1;
  for (let c = 0; c < restSize; c += 1) byRestStart[c + 1]! += byRestStart[c]!;
  const byRest = new Int32Array(entries);
  const byRestLevel = new Int32Array(entries);
  const weightByRest = new Float64Array(entries);
  const fill = byRestStart.slice(0, restSize);
  for (let level = 0; level < firstLevels; level += 1) {
    for (let e = meetStart[level]!; e < meetStart[level + 1]!; e += 1) {
      const at = fill[rank[found[e]!]!]!++;
      byRestLevel[at] = level;
      weightByRest[at] = foundWeight[e]!;
    }
  }
  const members = new Int32Array(entries);
  const meetWeight = new Float64Array(entries);
  const next = meetStart.slice(0, firstLevels);
  for (let c = 0; c < restSize; c += 1) {
    for (let at = byRestStart[c]!; at < byRestStart[c + 1]!; at += 1) {
      const e = next[byRestLevel[at]!]!++;
      members[e] = c;
      meetWeight[e] = weightByRest[at]!;
      byRest[at] = e;
    }
  }

  const place = factors.map((factor, k) =>
    k === first ? null : Int32Array.from({ length: factor.levels }, (_, l) => rank[offset[k]! + l]!),
  );
  const restFactor = new Int32Array(restSize);
  for (const k of others) {
    for (let l = 0; l < factors[k]!.levels; l += 1) restFactor[place[k]![l]!] = k;
  }
  const sum = (codes: Int32Array, at: Int32Array | null, values: Float64Array | null, out: Float64Array) => {
    for (let row = 0; row < rows; row += 1) {
      const code = at ? at[codes[row]!]! : codes[row]!;
      out[code]! += values ? weights[row]! * values[row]! : weights[row]!;
    }
    return out;
  };
  const firstSum = (values: Float64Array | null) =>
    first < 0 ? new Float64Array(0) : sum(firstCodes, null, values, new Float64Array(firstLevels));
  const restSum = (values: Float64Array | null) => {
    const out = new Float64Array(restSize);
    for (const k of others) sum(factors[k]!.codes, place[k]!, values, out);
    return out;
  };

  const xx = new Float64Array(columns * columns);
  const xy = new Float64Array(columns);
  for (let a = 0; a < columns; a += 1) {
    for (let b = 0; b <= a; b += 1) {
      xx[a * columns + b] = weightedProduct(weights, fixed[a]!, fixed[b]!);
      xx[b * columns + a] = xx[a * columns + b]!;
    }
    xy[a] = weightedProduct(weights, fixed[a]!, response);
  }
  return {
    rows,
    columns,
    factors: factors.length,
    first,
    xx,
    xy,
    yy: weightedProduct(weights, response, response),
    firstWeight: firstSum(null),
    firstX: fixed.map(firstSum),
    firstY: firstSum(response),
    restFactor,
    restWeight: restSum(null),
    restX: fixed.map(restSum),
    restY: restSum(response),
    meets: { start: meetStart, members },
    meetWeight,
    byRestStart,
    byRest,
    byRestLevel,
    ...crossWeights(weights, factors, others, place, order.length),
    layout,
    place,
  };
}

/** Σ weight × a × b. */
export function weightedProduct(weights: Float64Array, a: Float64Array, b: Float64Array): number {
  let total = 0;
  for (let row = 0; row < weights.length; row += 1) total += weights[row]! * a[row]! * b[row]!;
  return total;
}

/** Rows by code: those of code c are `rows[start[c]]` up to `rows[start[c + 1]]`. */
function groupRows(codes: Int32Array, groups: number): { start: Int32Array; rows: Int32Array } {
  const start = new Int32Array(groups + 1);
  for (const code of codes) start[code + 1]! += 1;
  for (let g = 0; g < groups; g += 1) start[g + 1]! += start[g]!;
  const next = start.slice(0, groups);
  const rows = new Int32Array(codes.length);
  for (let row = 0; row < codes.length; row += 1) rows[next[codes[row]!]!++] = row;
  return { start, rows };
}

function crossWeights(
  weights: Float64Array,
  factors: readonly CodedFactor[],
  others: readonly number[],
  place: readonly (Int32Array | null)[],
  size: number,
): { crossStart: Int32Array; crossRow: Int32Array; crossWeight: Float64Array } {
  const rows = weights.length;
  // A row's pairs one after the other, by column: first how many, then which.
  const start = new Int32Array(size + 1);
  const pairs: [Int32Array, Int32Array][] = [];
  for (const [index, k] of others.entries()) {
    for (const l of others.slice(index + 1)) {
      const a = levelsOf(factors[k]!.codes, place[k]!);
      const b = levelsOf(factors[l]!.codes, place[l]!);
      for (let row = 0; row < rows; row += 1) start[Math.min(a[row]!, b[row]!) + 1]! += 1;
      pairs.push([a, b]);
    }
  }
  for (let c = 0; c < size; c += 1) start[c + 1]! += start[c]!;
  const next = start.slice(0, size);
  const found = new Int32Array(start[size]!);
  const foundWeight = new Float64Array(start[size]!);
  for (const [a, b] of pairs) {
    for (let row = 0; row < rows; row += 1) {
      const at = next[Math.min(a[row]!, b[row]!)]!++;
      found[at] = Math.max(a[row]!, b[row]!);
      foundWeight[at] = weights[row]!;
    }
  }
  // Each pair of levels once.
  const crossStart = new Int32Array(size + 1);
  const slot = new Int32Array(size).fill(-1);
  let entries = 0;
  for (let c = 0; c < size; c += 1) {
    const begin = entries;
    for (let from = start[c]!; from < start[c + 1]!; from += 1) {
      const row = found[from]!;
      const weight = foundWeight[from]!;
      let at = slot[row]!;
      if (at < begin) {
        at = entries++;
        slot[row] = at;
        found[at] = row;
        foundWeight[at] = 0;
      }
      foundWeight[at]! += weight;
    }
    crossStart[c + 1] = entries;
  }
  return { crossStart, crossRow: found.slice(0, entries), crossWeight: foundWeight.slice(0, entries) };
}

function levelsOf(codes: Int32Array, place: Int32Array): Int32Array {
  const out = new Int32Array(codes.length);
  for (let row = 0; row < out.length; row += 1) out[row] = place[codes[row]!]!;
  return out;
}
