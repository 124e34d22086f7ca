import type { CodedFactor } from './normal-equations.ts';

/** A column of fixed effects, one value a row. */
export interface FixedColumn {
  name: string;
  values: ArrayLike<number>;
}

/** A factor of random effects: the level of each row. */
export interface RandomFactor {
  name: string;
  levels: ArrayLike<string | number>;
  /**
   * The level of rows that the factor does not touch. Columns of ones must make up just these rows: they then say what an
   * effect of this level could, so that it is 0 and moves no variance, and is as unsure as the columns are surer (`outsideOf`).
   */
  outside?: string | number;
}

/** Why a factor's variance is 0, with the note that says so. */
export interface NothingFound {
  why: 'one level' | 'one row each' | 'same as another' | 'no variation';
  note: string;
}

/** What rows of any mixed model have in common. */
interface ModelRows {
  response: ArrayLike<number>;
  weights?: ArrayLike<number>;
  fixed?: readonly FixedColumn[];
  factors: readonly RandomFactor[];
}

/** Rows whose weight counts; checks every number on the way. */
export function keptRows(input: ModelRows): Int32Array {
  const { response, weights, fixed = [], factors } = input;
  const rows = response.length;
  const sized = [
    { name: 'weights', length: weights?.length ?? rows },
    ...fixed.map(({ name, values }) => ({ name: `fixed column "${name}"`, length: values.length })),
    ...factors.map(({ name, levels }) => ({ name: `factor "${name}"`, length: levels.length })),
  ];
  for (const { name, length } of sized) {
    if (length !== rows) throw new RangeError(`${name} has ${length} values for ${rows} rows`);
  }
  let largest = 0;
  for (let row = 0; row < rows; row += 1) {
    const weight = weights ? weights[row]! : 1;
    if (!(weight >= 0) || !Number.isFinite(weight)) {
      throw new RangeError(`weight of row ${row} must be a number of 0 or more, not ${weight}`);
    }
    if (!Number.isFinite(response[row]!)) {
      throw new RangeError(`response of row ${row} must be a finite number, not ${response[row]}`);
    }
    for (const { name, values } of fixed) {
      if (!Number.isFinite(values[row]!)) {
        throw new RangeError(
          `fixed column "${name}" of row ${row} must be a finite number, not ${values[row]}`,
        );
      }
    }
    if (weight > largest) largest = weight;
  }
  // Beside the heaviest, a weight this small is beyond double precision and counts as none.
  const least = largest * 1e-13;
  const kept = new Int32Array(rows);
  let count = 0;
  for (let row = 0; row < rows; row += 1) {
    const weight = weights ? weights[row]! : 1;
    if (weight > 0 && weight >= least) kept[count++] = row;
  }
  return kept.subarray(0, count);
}

/** Columns of X scaled to length 1, without those that the ones before them make up. */
export function independentColumns(
  given: readonly FixedColumn[],
  kept: Int32Array,
  weights: Float64Array,
  notes: string[],
): { columns: Float64Array[]; places: { index: number; norm: number }[] } {
  const columns: Float64Array[] = [];
  const orthogonal: Float64Array[] = [];
  const places = given.map(({ name, values }) => {
    const column = Float64Array.from(kept, (row) => values[row]!);
    const size = column.reduce((max, value) => Math.max(max, Math.abs(value)), 0);
    let norm = 0;
    if (size > 0) {
      for (let row = 0; row < column.length; row += 1) norm += weights[row]! * (column[row]! / size) ** 2;
      norm = size * Math.sqrt(norm);
    }
    if (norm > 0) {
      for (let row = 0; row < column.length; row += 1) column[row]! /= norm;
      const own = column.slice();
      for (const other of orthogonal) subtractProjection(own, other, weights);
      for (const other of orthogonal) subtractProjection(own, other, weights);
      const left = Math.sqrt(weightedSquare(own, weights));
      if (left > 1e-7) {
        for (let row = 0; row < own.length; row += 1) own[row]! /= left;
        orthogonal.push(own);
        columns.push(column);
        return { index: columns.length - 1, norm };
      }
    }
    notes.push(`${name}: left out, the columns before it already say what it says`);
    return { index: -1, norm: 1 };
  });
  return { columns, places };
}

/**
 * Numbers each factor's levels; leaves out factors whose variance no data could tell, saying why.
 *
 * @param oneRowEachTold whether effects of single rows can be told from chance, as they can where chance is a count's
 */
export function codedFactors(
  given: readonly RandomFactor[],
  kept: Int32Array,
  notes: string[],
  oneRowEachTold = false,
) {
  const coded: CodedFactor[] = [];
  const factorIndex: number[] = [];
  const levels: (string | number)[][] = [];
  const levelIndex: Map<string | number, number>[] = [];
  const usedNames: string[] = [];
  const untold: (NothingFound | null)[] = [];
  for (const factor of given) {
    const index = new Map<string | number, number>();
    const codes = new Int32Array(kept.length);
    for (let i = 0; i < kept.length; i += 1) {
      const level = factor.levels[kept[i]!]!;
      let code = index.get(level);
      if (code === undefined) {
        code = index.size;
        index.set(level, code);
      }
      codes[i] = code;
    }
    levelIndex.push(index);
    levels.push([...index.keys()]);
    const twin = coded.findIndex((other) => sameGroups(other, codes, index.size));
    const none = factor.outside === undefined ? undefined : index.get(factor.outside);
    const touched = none === undefined ? kept.length : codes.filter((code) => code !== none).length;
    const found = untellable(
      factor.name,
      index.size - Number(none !== undefined),
      oneRowEachTold ? Number.POSITIVE_INFINITY : touched,
      twin < 0 ? null : usedNames[twin]!,
    );
    untold.push(found);
    factorIndex.push(found ? -1 : coded.length);
    if (found) {
      notes.push(found.note);
      continue;
    }
    coded.push({ codes, levels: index.size });
    usedNames.push(factor.name);
  }
  return { coded, factorIndex, levels, levelIndex, untold };
}

/**
 * For each fixed column the factors that touch none of its rows, with their outside level: what is estimated as the
 * column's is that level's as well, of which nothing but their sum is known.
 */
export function outsideOf(
  fixed: readonly FixedColumn[],
  factors: readonly RandomFactor[],
): { factor: number; level: string | number }[][] {
  return fixed.map(({ values }) =>
    factors.flatMap(({ levels, outside }, factor) => {
      if (outside === undefined) return [];
      for (let row = 0; row < values.length; row += 1) {
        if (values[row] !== 0 && levels[row] !== outside) return [];
      }
      return [{ factor, level: outside }];
    }),
  );
}

export const noVariation = (name: string): NothingFound => ({
  why: 'no variation',
  note: `${name}: no variation beyond chance was found`,
});

/** Why no data could tell the variance of a factor; null when they may. From `most` levels on there are too many. */
function untellable(name: string, levels: number, most: number, twin: string | null): NothingFound | null {
  const nothing = 'nothing is adjusted for it';
  if (levels < 2) {
    return { why: 'one level', note: `${name}: only one, so nothing to compare it with; ${nothing}` };
  }
  if (levels >= most) {
    return {
      why: 'one row each',
      note: `${name}: one graded row each, so its effect cannot be told from chance; ${nothing}`,
    };
  }
  if (twin === null) return null;
  return {
    why: 'same as another',
    note: `${name}: goes together with ${twin} throughout, so the two cannot be told apart; all is put down to ${twin}`,
  };
}

/** Codes are given in order of first appearance, so equal groupings have equal codes. */
function sameGroups(other: CodedFactor, codes: Int32Array, size: number): boolean {
  return other.levels === size && other.codes.every((code, row) => code === codes[row]);
}

export function weightedSquare(values: Float64Array, weights: Float64Array): number {
  let total = 0;
  for (let row = 0; row < values.length; row += 1) total += weights[row]! * values[row]! * values[row]!;
  return total;
}

/** Takes from `values` its part along `unit`, which has weighted length 1. */
function subtractProjection(values: Float64Array, unit: Float64Array, weights: Float64Array): void {
  let along = 0;
  for (let row = 0; row < values.length; row += 1) along += weights[row]! * values[row]! * unit[row]!;
  for (let row = 0; row < values.length; row += 1) values[row]! -= along * unit[row]!;
}
