import { type Solution, solveModel } from '../restricted-likelihood.ts';
import { evaluateRows, type FamilyName, firstPredictor, type RowTerms } from './families.ts';
import { reweigh, type WorkingEquations } from './working-equations.ts';

/** Rows of a count model, numbers checked, columns independent. */
export interface CountRows {
  family: FamilyName;
  response: Float64Array;
  weights: Float64Array;
  offset: Float64Array;
}

/** The effects at which the penalised likelihood is highest, for given variances. */
export interface Modes {
  /** Of the weighted least-squares problem at the modes; its effects are the modes. */
  solution: Solution;
  /** Fixed effects, those given or those found. */
  fixed: Float64Array;
  predictor: Float64Array;
  /**
   * By how much the last step moved each linear predictor: the solution's weights are those before it. This and `terms`
   * are the equations' room, theirs until the next search.
   */
  moved: Float64Array;
  terms: RowTerms;
  /** Σ_k b_kᵀb_k/σ_k². */
  penalty: number;
  settled: boolean;
}

/** When another step would move no linear predictor by more than this, the modes are found. */
export interface ModeSearch {
  tolerance: number;
  /** Linear predictors to start from, those of modes at like variances; left out, the rows' own values. */
  from?: Float64Array;
}

const mostSteps = 60;

/**
 * Penalised iteratively reweighted least squares (Bates, Mächler, Bolker and Walker 2015, section on generalised
 * models; Breslow and Clayton 1993): each step solves Henderson's equations of the working response. A step that
 * makes the penalised deviance worse is halved.
 *
 * @param work its fixed columns are what is found together with the random effects
 * @param given linear predictor of whatever is held as it is, offset included
 * @returns null when the equations cannot be solved in double precision.
 */
export function findModes(
  rows: CountRows,
  work: WorkingEquations,
  variances: Float64Array,
  given: Float64Array,
  { tolerance, from }: ModeSearch,
): Modes | null {
  const { family, response, weights } = rows;
  const count = response.length;
  const { room } = work;
  let [predictor, reached] = room.predictors;
  for (let row = 0; row < count; row += 1) {
    predictor[row] = from ? from[row]! : firstPredictor(family, response[row]!, weights[row]!);
  }
  let [terms, next] = room.terms;
  evaluateRows(family, response, weights, predictor, terms);
  // The first predictor need not be one that any effects make: it is never gone back to.
  let worst = Number.POSITIVE_INFINITY;
  const { working, moved } = room;
  let before: Pick<Solution, 'effects' | 'fixed'> | null = null;
  for (let step = 0; step < mostSteps; step += 1) {
    workingResponse(predictor, given, terms, working);
    reweigh(work, working, terms.information);
    const solution = solveModel(work.equations, variances);
    if (!solution) return null;
    predictorOf(work, solution, given, reached);
    evaluateRows(family, response, weights, reached, next);
    let penalty = penaltyOf(work, solution, variances);
    const slack = 1e-9 * Math.abs(worst);
    for (let halving = 0; before && next.deviance + penalty > worst + slack && halving < 20; halving += 1) {
      half(solution, before);
      predictorOf(work, solution, given, reached);
      evaluateRows(family, response, weights, reached, next);
      penalty = penaltyOf(work, solution, variances);
    }
    const furthest = moves(predictor, reached, moved);
    worst = next.deviance + penalty;
    before = solution;
    [predictor, reached] = [reached, predictor];
    [terms, next] = [next, terms];
    const settled = furthest <= tolerance;
    if (settled || step === mostSteps - 1) {
      return {
        solution,
        fixed: solution.fixed,
        predictor: predictor.slice(),
        moved,
        terms,
        penalty,
        settled,
      };
    }
  }
  return null;
}

function workingResponse(
  predictor: Float64Array,
  given: Float64Array,
  { score, information }: RowTerms,
  out: Float64Array,
): void {
  for (let row = 0; row < out.length; row += 1) {
    out[row] = predictor[row]! - given[row]! + score[row]! / information[row]!;
  }
}

/** Fills `moved`; the largest of it. */
function moves(from: Float64Array, to: Float64Array, moved: Float64Array): number {
  let furthest = 0;
  for (let row = 0; row < moved.length; row += 1) {
    const move = to[row]! - from[row]!;
    moved[row] = move;
    if (move > furthest) furthest = move;
    else if (-move > furthest) furthest = -move;
  }
  return furthest;
}

/** Half way back to what the effects were before. */
function half(solution: Solution, before: Pick<Solution, 'effects' | 'fixed'>): void {
  const mean = (now: Float64Array, then: Float64Array) => {
    for (let i = 0; i < now.length; i += 1) now[i] = 0.5 * (now[i]! + then[i]!);
  };
  mean(solution.fixed, before.fixed);
  mean(solution.effects.first, before.effects.first);
  mean(solution.effects.rest, before.effects.rest);
}

function predictorOf(
  work: WorkingEquations,
  solution: Solution,
  given: Float64Array,
  out: Float64Array,
): void {
  const { equations, fixed, firstLevel, others, restLevel } = work;
  const { first, rest } = solution.effects;
  for (let row = 0; row < out.length; row += 1) {
    let value = given[row]!;
    if (equations.first >= 0) value += first[firstLevel[row]!]!;
    for (let at = row * others; at < (row + 1) * others; at += 1) value += rest[restLevel[at]!]!;
    for (let a = 0; a < fixed.length; a += 1) value += solution.fixed[a]! * fixed[a]![row]!;
    out[row] = value;
  }
}

function penaltyOf({ equations }: WorkingEquations, { effects }: Solution, variances: Float64Array): number {
  let total = 0;
  const { first, restFactor } = equations;
  // An effect whose variance is 0 is 0.
  if (first >= 0 && variances[first]! > 0) {
    let squares = 0;
    for (const value of effects.first) squares += value * value;
    total += squares / variances[first]!;
  }
  for (let c = 0; c < restFactor.length; c += 1) {
    const variance = variances[restFactor[c]!]!;
    if (variance > 0) total += (effects.rest[c]! * effects.rest[c]!) / variance;
  }
  return total;
}
