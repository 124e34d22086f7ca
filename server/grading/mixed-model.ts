import { atVariances, estimateVariances } from './estimate-variances.ts';
import {
  codedFactors,
  type FixedColumn,
  independentColumns,
  keptRows,
  type NothingFound,
  noVariation,
  outsideOf,
  type RandomFactor,
  weightedSquare,
} from './model-rows.ts';
import type { NormalEquations } from './normal-equations.ts';
import type { EffectVector, Solution } from './restricted-likelihood.ts';
import { invertSmall } from './small-matrix.ts';

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
  /** Variances to take for known, σ² and each factor's in their order; estimated when not given. */
  known?: { residual: number; factors: readonly number[] };
}

interface FixedEffect {
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
  /** null where its variance is above 0, or the fixed effects explain every value; with the note that says so. */
  nothingFound: NothingFound | null;
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
  /** As `outsideOf` gives it: what is predicted with each fixed effect. */
  outside: ReturnType<typeof outsideOf>;
  /** Residual variance in the units that the equations are in, times the response's scale squared. */
  scale: number;
  /** The response's scale: solutions are in units of the response divided by it. */
  unit: number;
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

  const { coded, factorIndex, levels, levelIndex, untold } = codedFactors(input.factors, kept, notes);
  const factors = input.factors.map(
    (factor, k): FactorEffects => ({
      name: factor.name,
      variance: 0,
      levels: levels[k]!,
      effects: new Float64Array(levels[k]!.length),
      nothingFound: untold[k]!,
    }),
  );
  const state: FitState = {
    equations: null,
    solution: null,
    columns: design.places,
    factorIndex,
    levelIndex,
    outside: outsideOf(given, input.factors),
    scale: 0,
    unit: 1,
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

  const { known } = input;
  const search = known
    ? atVariances(
        reduced.response,
        weights,
        design.columns,
        coded,
        coded.map((_, k) => (known.factors[factorIndex.indexOf(k)]! * meanWeight) / known.residual),
      )
    : estimateVariances(reduced.response, weights, design.columns, coded);
  if (!search) return { fitted: false, reason: 'the equations are too ill-conditioned to solve' };
  const { equations, solution } = search;
  if (!search.converged) notes.push('the search for the variances ended before it settled');

  if (search.saturated) notes.push('the effects explain the rows almost wholly: too few rows to tell chance');

  const { scale } = reduced;
  const variance = known ? known.residual / meanWeight : (solution.residual / freedom) * scale * scale;
  state.equations = equations;
  state.factorIndex = factorIndex.map((index) => (index < 0 ? -1 : search.at[index]!));
  state.solution = solution;
  state.scale = variance;
  state.unit = scale;
  for (const [k, factor] of factors.entries()) {
    if (factorIndex[k]! < 0) continue;
    const index = state.factorIndex[k]!;
    if (index >= 0) {
      factor.variance = solution.ratios[index]! * variance;
      const place = equations.place[index];
      const values = place ? solution.effects.rest : solution.effects.first;
      factor.effects = factor.effects.map((_, level) => values[place ? place[level]! : level]! * scale);
    }
    if (factor.variance === 0) {
      factor.nothingFound = noVariation(factor.name);
      notes.push(factor.nothingFound.note);
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
