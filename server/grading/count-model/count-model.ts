import type { MixedModelFit } from '../mixed-model.ts';
import {
  codedFactors,
  type FixedColumn,
  independentColumns,
  keptRows,
  noVariation,
  outsideOf,
  type RandomFactor,
} from '../model-rows.ts';
import type { CodedFactor } from '../normal-equations.ts';
import { estimateCountVariances } from './estimate-count-variances.ts';
import type { FamilyName } from './families.ts';
import { constantDeviance } from './families.ts';
import { leverages } from './leverages.ts';
import { type CountRows, findModes, type ModeSearch, type Modes } from './modes.ts';
import type { SearchGoal } from './variance-search.ts';
import { type WorkingEquations, workingEquations } from './working-equations.ts';

/**
 * Rows of a generalised linear mixed model: link(mean) = offset + Xβ + Σ_k Z_k b_k, each factor's effects b_k
 * independent normal with one variance σ_k², any number of crossed or nested factors.
 */
export interface CountModelRows {
  family: FamilyName;
  /** Binomial: the share of the trials that came out as counted, 0 to 1. Poisson: the count, 0 or more. */
  response: ArrayLike<number>;
  /** Binomial: trials. Poisson: how many times the row counts. Need not be whole; 1 when not given; 0 leaves a row out. */
  weights?: ArrayLike<number>;
  /** Known part of the linear predictor, such as the log of what was expected. */
  offset?: ArrayLike<number>;
  /** Columns of X; an intercept when not given. A column that the ones before it make up is left out. */
  fixed?: readonly FixedColumn[];
  factors: readonly RandomFactor[];
}

interface CountModelOptions {
  /**
   * Integrate over the fixed effects as well, under a flat prior, so that variances are not too small for the fixed
   * effects that were estimated: what restricted likelihood is to a linear model. Without it, maximum likelihood.
   */
  restricted?: boolean;
  /** Variances to begin the search at, by factor; near the end of it, it is short. */
  start?: readonly number[];
  /** Variances to hold, by factor; null where one is searched for. */
  held?: readonly (number | null)[];
  /** Factors of which it is known that their levels differ: a variance of 0 is not an answer (`variance-search.ts`). */
  neverZero?: readonly boolean[];
  goal?: SearchGoal;
}

/** A fitted count model; `predict` and `levelErrors` take it as they take a linear one. */
export interface CountModelFit extends Pick<MixedModelFit, 'fixed' | 'factors' | 'notes' | 'state'> {
  fitted: true;
  /** Rows with a weight above 0. */
  rows: number;
  /** −2 × log-likelihood by Laplace's approximation, constants included. */
  criterion: number | null;
  converged: boolean;
  /** Linear predictor of each row that counts, at the modes. */
  predictor: Float64Array;
  /** Posterior variance of each of these at the variances found, fixed effects uncertain too; worked out when asked for. */
  spread(): Float64Array;
  evaluations: number;
}

export type CountModelResult = CountModelFit | { fitted: false; reason: string };

const rough: SearchGoal = { gain: 0.05, modes: 0.02 };
const exact: SearchGoal = { gain: 1e-7, modes: 1e-4 };

/**
 * Fits a binomial (logit) or Poisson (log) mixed model by Laplace's approximation of its likelihood: Breslow and
 * Clayton (1993), "Approximate inference in generalized linear mixed models", Journal of the American Statistical
 * Association 88(421); the criterion is that of R's `glmer` with `nAGQ = 1`. It takes the linear model's machinery:
 * its normal equations, filled anew at each step, their sparse factor and its selected inverse.
 *
 * What cannot be fitted at all comes back as `{ fitted: false, reason }`. A level without a single miss, or with
 * nothing else, is drawn in by its factor's variance and stays finite; a fixed column that separates the rows is said
 * in the reason.
 *
 * @throws RangeError naming the row and field when a number is out of its range, or a column has another length.
 */
export function fitCountModel(input: CountModelRows, options: CountModelOptions = {}): CountModelResult {
  checkCounts(input);
  const kept = keptRows(input);
  const rows = kept.length;
  if (rows === 0) return { fitted: false, reason: 'no row with a weight above 0' };
  const counts: CountRows = {
    family: input.family,
    response: Float64Array.from(kept, (row) => input.response[row]!),
    weights: Float64Array.from(kept, (row) => input.weights?.[row] ?? 1),
    offset: Float64Array.from(kept, (row) => input.offset?.[row] ?? 0),
  };
  const given = input.fixed ?? [
    { name: '(intercept)', values: new Float64Array(input.response.length).fill(1) },
  ];
  const separated = separation(counts, given, kept);
  if (separated) return { fitted: false, reason: separated };

  const notes: string[] = [];
  const design = independentColumns(given, kept, counts.weights, notes);
  const { coded, factorIndex, levels, levelIndex, untold } = codedFactors(input.factors, kept, notes, true);
  const { restricted = false, goal = exact } = options;
  const heldAt = coded.map((_, k) => options.held?.[factorIndex.indexOf(k)] ?? null);
  const guess = Float64Array.from(
    heldAt,
    (value, k) => value ?? Math.max(1e-4, options.start?.[factorIndex.indexOf(k)] ?? 0.2),
  );
  const neverZero = coded.map((_, k) => options.neverZero?.[factorIndex.indexOf(k)] === true);
  const found = variancesOf(counts, design.columns, coded, { guess, heldAt, restricted, neverZero, goal });
  if (!found) return { fitted: false, reason: 'the equations are too ill-conditioned to solve' };
  const { variances, converged, modes, evaluations, work, at } = found;
  if (!converged) notes.push('the search for the variances ended before it settled');
  let criterion = found.criterion;
  if (criterion !== null) {
    criterion += constantDeviance(counts.family, counts.response, counts.weights);
    if (restricted)
      for (const { index, norm } of design.places) if (index >= 0) criterion += 2 * Math.log(norm);
  }
  const { solution } = modes;

  const p = design.columns.length;
  return {
    fitted: true,
    rows,
    criterion,
    converged: converged && modes.settled,
    predictor: modes.predictor,
    spread: () => leverages(work, solution, true).rows.slice(),
    evaluations,
    fixed: given.map(({ name }, j) => {
      const { index, norm } = design.places[j]!;
      if (index < 0) return { name, estimate: null, standardError: null };
      return {
        name,
        estimate: modes.fixed[index]! / norm,
        standardError: Math.sqrt(Math.max(0, solution.fixedCovariance[index * p + index]!)) / norm,
      };
    }),
    factors: input.factors.map(({ name }, k) => {
      const index = factorIndex[k]!;
      const effects = new Float64Array(levels[k]!.length);
      if (index < 0) return { name, variance: 0, levels: levels[k]!, effects, nothingFound: untold[k]! };
      const own = at[index]!;
      const variance = own < 0 ? 0 : variances[own]!;
      const nothingFound = variance === 0 ? noVariation(name) : null;
      if (nothingFound) notes.push(nothingFound.note);
      if (own < 0) return { name, variance, levels: levels[k]!, effects, nothingFound };
      const place = work.equations.place[own];
      for (let l = 0; l < effects.length; l += 1) {
        effects[l] = place ? solution.effects.rest[place[l]!]! : solution.effects.first[l]!;
      }
      return { name, variance, levels: levels[k]!, effects, nothingFound };
    }),
    notes,
    state: {
      equations: work.equations,
      solution,
      columns: design.places,
      factorIndex: factorIndex.map((index) => (index < 0 ? -1 : at[index]!)),
      levelIndex,
      outside: outsideOf(given, input.factors),
      scale: 1,
      unit: 1,
      inverse: null,
    },
  };
}

interface FoundVariances {
  variances: Float64Array;
  /** Without the constants; null where every variance is held. */
  criterion: number | null;
  converged: boolean;
  evaluations: number;
  modes: Modes;
  work: WorkingEquations;
  /** Where each factor is in the equations, −1 where they do without it. */
  at: readonly number[];
}

/** Variances, and the modes at them with the fixed effects as uncertain as the random ones; null as `findModes`. */
function variancesOf(
  counts: CountRows,
  columns: readonly Float64Array[],
  factors: readonly CodedFactor[],
  search: {
    guess: Float64Array;
    heldAt: readonly (number | null)[];
    restricted: boolean;
    neverZero: readonly boolean[];
    goal: SearchGoal;
  },
): FoundVariances | null {
  const { guess, heldAt, restricted, neverZero, goal } = search;
  const held = heldAt.map((value) => value !== null);
  const { length: rows } = counts.response;
  const tolerance = goal.modes;
  if (factors.length > 0 && held.every(Boolean)) {
    const work = workingEquations(rows, columns, factors);
    const modes = findModes(counts, work, guess, counts.offset, { tolerance });
    const at = factors.map((_, k) => k);
    return modes && { variances: guess, criterion: null, converged: true, evaluations: 0, modes, work, at };
  }
  // Over the fixed effects too, even where that is only where the search for all begins.
  const none = { fixed: new Float64Array(0), columns: [], fixedCovariance: new Float64Array(0) };
  const together = estimateCountVariances(
    counts,
    columns,
    factors,
    { variances: guess, ...none, held, neverZero },
    restricted ? goal : rough,
  );
  if (!together) return null;
  if (restricted) {
    if (together.variances.every((value) => value > 0)) return together;
    const { work, variances, modes: near } = together;
    const modes = findModes(counts, work, variances, counts.offset, { tolerance, from: near.predictor });
    return modes && { ...together, modes };
  }
  const found = estimateCountVariances(
    counts,
    [],
    factors,
    {
      // From 0 itself a search rises slowly.
      variances: Float64Array.from(together.at, (at, k) =>
        held[k] ? guess[k]! : Math.max(at < 0 ? 0 : together.variances[at]!, 1e-4),
      ),
      fixed: together.modes.fixed,
      columns,
      fixedCovariance: together.modes.solution.fixedCovariance,
      predictor: together.modes.predictor,
      held,
      neverZero,
    },
    goal,
  );
  if (!found) return null;
  const joint = workingEquations(
    rows,
    columns,
    factors.filter((_, k) => found.at[k]! >= 0),
  );
  const modes = atFixed(
    counts,
    { whole: joint, alone: found.work },
    found.variances,
    { fixed: found.fixed, columns },
    { tolerance, from: found.modes.predictor },
  );
  return modes && { ...found, evaluations: together.evaluations + found.evaluations, modes, work: joint };
}

/** The modes at given fixed effects, with the solution that tells how uncertain both are together. */
function atFixed(
  counts: CountRows,
  { whole, alone }: { whole: WorkingEquations; alone: WorkingEquations },
  variances: Float64Array,
  given: { fixed: Float64Array; columns: readonly Float64Array[] },
  search: ModeSearch,
): Modes | null {
  const offset = counts.offset.slice();
  for (const [a, column] of given.columns.entries()) {
    for (let row = 0; row < offset.length; row += 1) offset[row]! += given.fixed[a]! * column[row]!;
  }
  const modes = findModes(counts, alone, variances, offset, search);
  // One step of the joint problem from there, for its covariance; where it would go is not asked.
  const joint =
    modes && findModes(counts, whole, variances, counts.offset, { tolerance: 1e9, from: modes.predictor });
  if (!modes || !joint) return null;
  return {
    ...modes,
    fixed: given.fixed,
    solution: { ...joint.solution, effects: modes.solution.effects, fixed: given.fixed },
  };
}

function checkCounts({ family, response, offset, weights }: CountModelRows): void {
  if (offset && offset.length !== response.length) {
    throw new RangeError(`offset has ${offset.length} values for ${response.length} rows`);
  }
  for (let row = 0; row < response.length; row += 1) {
    const y = response[row]!;
    if (weights?.[row] === 0) continue;
    if (family === 'poisson' && !(y >= 0)) {
      throw new RangeError(`response of row ${row} must be a count of 0 or more, not ${y}`);
    }
    if (family === 'binomial' && !(y >= 0 && y <= 1)) {
      throw new RangeError(`response of row ${row} must be a share from 0 to 1, not ${y}`);
    }
    if (offset && !Number.isFinite(offset[row]!)) {
      throw new RangeError(`offset of row ${row} must be a finite number, not ${offset[row]}`);
    }
  }
}

/** Why no finite fixed effects fit: nothing, or everything, was counted, in all rows or where one column is not 0. */
function separation(
  { family, response, weights }: CountRows,
  given: readonly FixedColumn[],
  kept: Int32Array,
): string | null {
  const kindOf = (counts: (row: number) => boolean) => {
    let some = false;
    let all = true;
    for (let row = 0; row < response.length; row += 1) {
      if (!counts(row)) continue;
      if (response[row]! * weights[row]! > 0) some = true;
      if (family === 'poisson' || response[row]! < 1) all = false;
    }
    return some ? (all ? 'everything' : null) : 'nothing';
  };
  const whole = kindOf(() => true);
  if (whole) return `${whole} was counted in any row: there is no difference to learn from`;
  for (const { name, values } of given) {
    const kind = kindOf((row) => values[kept[row]!] !== 0);
    // A column of 0 throughout is left out later, with its note.
    const empty = !kept.some((row) => values[row] !== 0);
    if (kind && !empty)
      return `${kind} was counted wherever "${name}" is not 0: how far it reaches cannot be told`;
  }
  return null;
}
