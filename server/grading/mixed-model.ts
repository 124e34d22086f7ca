import { type CodedFactor, type NormalEquations, normalEquations } from './normal-equations.ts';
import { type EffectVector, invertSmall, type Solution } from './restricted-likelihood.ts';
import { searchVariances } from './variance-search.ts';

/**
 * Rows of the model y = Xβ + Σ_k Z_k b_k + ε: each factor's effects b_k independent normal with one
 * variance σ_k², and ε normal with variance σ²/weight.
 */
export interface MixedModelRows {
  response: ArrayLike<number>;
  /** 0 or more, finite; a row of weight 0 is left out. All 1 when not given. */
  weights?: ArrayLike<number>;
  /** Columns of X; an intercept when not given. A column that the ones before it make up is left out. */
  fixed?: readonly FixedColumn[];
  /** Random factors, any number, with the level of each row. */
  factors: readonly RandomFactor[];
}

export interface FixedColumn {
  name: string;
  values: ArrayLike<number>;
}

export interface RandomFactor {
  name: string;
  levels: ArrayLike<string | number>;
}

export interface FixedEffect {
  name: string;
  /** null when the column was left out because the ones before it make it up. */
  estimate: number | null;
  standardError: number | null;
}

export interface FactorEffects {
  name: string;
  /** σ_k², in squared units of the response. */
  variance: number;
  levels: readonly (string | number)[];
  /** Predicted effect of each level (best linear unbiased prediction). */
  effects: Float64Array;
}

export interface MixedModelFit {
  fitted: true;
  /** Rows with a weight above 0. */
  rows: number;
  /** −2 × restricted log-likelihood, constants included, as lme4's `REMLcrit`; null when all is explained. */
  criterion: number | null;
  converged: boolean;
  /** σ²: residual variance of a row of weight 1. */
  residualVariance: number;
  fixed: FixedEffect[];
  factors: FactorEffects[];
  /** In plain words: which variances are 0 or could not be told apart, and why. */
  notes: string[];
  /** For `predict` and `levelErrors` only. */
  state: FitState;
}

export type MixedModelResult = MixedModelFit | { fitted: false; reason: string };

interface FitState {
  equations: NormalEquations | null;
  solution: Solution | null;
  /** Column of X in the equations, and what it was divided by; index −1 when it was left out. */
  columns: { index: number; norm: number }[];
  /** Factor in the equations of each given factor, −1 when it was left out. */
  factorIndex: number[];
  levelIndex: Map<string | number, number>[];
  /** Residual variance in the units that the equations are in, times the response's scale squared. */
  scale: number;
  inverse: EffectVector | null;
}

/**
 * Fits the crossed mixed model by restricted maximum likelihood (Patterson and Thompson 1971) and predicts
 * its effects (Henderson 1950, 1975).
 *
 * A variance that the rows do not support goes to 0. What cannot be fitted at all comes back as
 * `{ fitted: false, reason }`.
 *
 * @throws RangeError naming the row and field when a number is not finite, a weight negative, or a column
 *   or factor has not as many values as there are rows.
 */
export function fitMixedModel(input: MixedModelRows): MixedModelResult {
  const kept = keptRows(input);
  const rows = kept.length;
  if (rows === 0) return { fitted: false, reason: 'no row with a weight above 0' };

  const notes: string[] = [];
  const weights = Float64Array.from(kept, (row) => input.weights?.[row] ?? 1);
  // Sums of huge or tiny numbers would not stay finite: divide by the largest before averaging.
  const largestWeight = weights.reduce((max, value) => Math.max(max, value), 0);
  let meanWeight = 0;
  for (const value of weights) meanWeight += value / largestWeight / rows;
  meanWeight *= largestWeight;
  for (let row = 0; row < rows; row += 1) weights[row]! /= meanWeight;

  const given = input.fixed ?? [
    { name: '(intercept)', values: new Float64Array(input.response.length).fill(1) },
  ];
  const design = independentColumns(given, kept, weights, notes);
  const reduced = removeFixed(
    Float64Array.from(kept, (row) => input.response[row]!),
    weights,
    design.columns,
  );
  const freedom = rows - design.columns.length;
  if (freedom <= 0) {
    const effects =
      design.columns.length === 1 ? 'one fixed effect' : `${design.columns.length} fixed effects`;
    const what = rows === 1 ? 'one row' : `${rows} rows`;
    return { fitted: false, reason: `${what} cannot tell ${effects} from chance` };
  }

  const { coded, factorIndex, levels, levelIndex } = codedFactors(input.factors, kept, notes);
  const factors = input.factors.map(
    (factor, k): FactorEffects => ({
      name: factor.name,
      variance: 0,
      levels: levels[k]!,
      effects: new Float64Array(levels[k]!.length),
    }),
  );
  const state: FitState = {
    equations: null,
    solution: null,
    columns: design.places,
    factorIndex,
    levelIndex,
    scale: 0,
    inverse: null,
  };
  const fixedOf = (estimates: ArrayLike<number>, errors: ArrayLike<number> | null) =>
    given.map(({ name }, j): FixedEffect => {
      const { index, norm } = design.places[j]!;
      if (index < 0) return { name, estimate: null, standardError: null };
      return {
        name,
        estimate: (reduced.coefficients[index]! + estimates[index]!) / norm,
        standardError: errors ? errors[index]! / norm : 0,
      };
    });

  if (reduced.scale === 0) {
    notes.push('every value is explained by the fixed effects alone: nothing is left to vary');
    const none = new Float64Array(design.columns.length);
    return {
      fitted: true,
      rows,
      criterion: null,
      converged: true,
      residualVariance: 0,
      fixed: fixedOf(none, null),
      factors,
      notes,
      state,
    };
  }

  const equations = normalEquations(reduced.response, weights, design.columns, coded);
  const search = searchVariances(equations);
  if (!search) return { fitted: false, reason: 'the equations are too ill-conditioned to solve' };
  const { solution } = search;
  if (!search.converged) notes.push('the search for the variances ended before it settled');

  if (search.saturated) notes.push('the effects explain the rows almost wholly: too few rows to tell chance');

  const { scale } = reduced;
  const variance = (solution.residual / freedom) * scale * scale;
  state.equations = equations;
  state.solution = solution;
  state.scale = variance;
  for (const [k, factor] of factors.entries()) {
    const index = factorIndex[k]!;
    if (index < 0) continue;
    factor.variance = solution.ratios[index]! * variance;
    const place = equations.place[index];
    const values = place ? solution.effects.rest : solution.effects.first;
    factor.effects = factor.effects.map((_, level) => values[place ? place[level]! : level]! * scale);
    if (solution.ratios[index] === 0) {
      notes.push(`${factor.name}: no variation beyond chance was found, its variance is 0`);
    }
  }
  const p = design.columns.length;
  const errors = Float64Array.from({ length: p }, (_, j) =>
    Math.sqrt(Math.max(0, solution.fixedCovariance[j * p + j]!) * variance),
  );
  let criterion = solution.criterion + 2 * freedom * Math.log(scale);
  for (const { index, norm } of design.places) if (index >= 0) criterion += 2 * Math.log(norm);
  for (const weight of weights) criterion -= Math.log(weight);
  return {
    fitted: true,
    rows,
    criterion,
    converged: search.converged,
    residualVariance: variance * meanWeight,
    fixed: fixedOf(
      solution.fixed.map((value) => value * scale),
      errors,
    ),
    factors,
    notes,
    state,
  };
}

/** Rows whose weight counts; checks every number on the way. */
function keptRows(input: MixedModelRows): Int32Array {
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
function independentColumns(
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

/** Weighted least squares on the fixed columns alone: what is left, scaled to a mean square of 1. */
function removeFixed(
  response: Float64Array,
  weights: Float64Array,
  columns: readonly Float64Array[],
): { response: Float64Array; coefficients: Float64Array; scale: number } {
  const p = columns.length;
  const rows = response.length;
  const coefficients = new Float64Array(p);
  const size = response.reduce((max, value) => Math.max(max, Math.abs(value)), 0);
  if (size === 0) return { response, coefficients, scale: 0 };
  const left = response.map((value) => value / size);
  const information = new Float64Array(p * p);
  for (let a = 0; a < p; a += 1) {
    for (let b = 0; b < p; b += 1) {
      for (let row = 0; row < rows; row += 1) {
        information[a * p + b]! += weights[row]! * columns[a]![row]! * columns[b]![row]!;
      }
    }
  }
  const { inverse } = invertSmall(information, p) ?? { inverse: new Float64Array(p * p) };
  // The second pass takes off what rounding left in the first.
  for (let pass = 0; pass < 2; pass += 1) {
    const right = columns.map((column) => {
      let total = 0;
      for (let row = 0; row < rows; row += 1) total += weights[row]! * column[row]! * left[row]!;
      return total;
    });
    for (let a = 0; a < p; a += 1) {
      let step = 0;
      for (let b = 0; b < p; b += 1) step += inverse[a * p + b]! * right[b]!;
      coefficients[a]! += step;
      for (let row = 0; row < rows; row += 1) left[row]! -= step * columns[a]![row]!;
    }
  }
  const spread = Math.sqrt(weightedSquare(left, weights) / rows);
  for (let a = 0; a < p; a += 1) coefficients[a]! *= size;
  if (spread < 1e-12) return { response: left, coefficients, scale: 0 };
  for (let row = 0; row < rows; row += 1) left[row]! /= spread;
  return { response: left, coefficients, scale: spread * size };
}

/** Numbers each factor's levels; leaves out factors whose variance no data could tell, saying why. */
function codedFactors(given: readonly RandomFactor[], kept: Int32Array, notes: string[]) {
  const coded: CodedFactor[] = [];
  const factorIndex: number[] = [];
  const levels: (string | number)[][] = [];
  const levelIndex: Map<string | number, number>[] = [];
  const usedNames: string[] = [];
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
    if (index.size < 2)
      notes.push(
        `${factor.name}: only one, so nothing to compare it with; nothing is adjusted for it (its variance is taken as 0)`,
      );
    else if (index.size === kept.length) {
      notes.push(
        `${factor.name}: one graded row each, so its effect cannot be told from chance; nothing is adjusted for it (its variance is taken as 0)`,
      );
    } else if (twin >= 0) {
      notes.push(
        `${factor.name}: goes together with ${usedNames[twin]} throughout, so the two cannot be told apart; all is put down to ${usedNames[twin]} (this variance is taken as 0)`,
      );
    } else {
      factorIndex.push(coded.length);
      coded.push({ codes, levels: index.size });
      usedNames.push(factor.name);
      continue;
    }
    factorIndex.push(-1);
  }
  return { coded, factorIndex, levels, levelIndex };
}

/** Codes are given in order of first appearance, so equal groupings have equal codes. */
function sameGroups(other: CodedFactor, codes: Int32Array, size: number): boolean {
  return other.levels === size && other.codes.every((code, row) => code === codes[row]);
}

function weightedSquare(values: Float64Array, weights: Float64Array): number {
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
