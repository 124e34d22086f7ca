import { type EffectVector, randomPart } from '../restricted-likelihood.ts';
import { leverages } from './leverages.ts';
import { type CountRows, findModes, type ModeSearch, type Modes } from './modes.ts';
import { sumColumn, type WorkingEquations } from './working-equations.ts';

/** Laplace's approximation at one point, with its slope. */
export interface LaplacePoint {
  modes: Modes;
  /** −2 × log of the approximated likelihood, without the terms that nothing changes. */
  criterion: number;
  /** Slope in log σ_k². */
  gradient: Float64Array;
  /** Slope in the fixed effects, where they are given; else empty. */
  fixedGradient: Float64Array;
  /** Σ over each factor's levels of the square of 1 − posterior ÷ prior variance: the expected curvature. */
  information: Float64Array;
}

/**
 * −2 log-likelihood of variances and fixed effects by Laplace's approximation,
 * −2ℓ(y | b̃) + Σ b̃ᵀb̃/σ² + log|σZᵀWZσ + I| at the modes b̃ (Breslow and Clayton 1993; Bates et al. 2015), and its
 * exact slope: W moves with the modes, and the modes with the variances, by the implicit function theorem (as in
 * Kristensen et al. 2016, "TMB", Journal of Statistical Software 70(5)).
 *
 * @param given the fixed effects, maximum likelihood; null to integrate over them too, as restricted likelihood does
 * @param columns X, for `given`
 */
export function laplaceAt(
  rows: CountRows,
  work: WorkingEquations,
  variances: Float64Array,
  given: { fixed: Float64Array; columns: readonly Float64Array[] } | null,
  search: ModeSearch,
): LaplacePoint | null {
  const { given: held, pull, ones } = work.room;
  held.set(rows.offset);
  for (const [a, column] of given?.columns.entries() ?? []) {
    for (let row = 0; row < held.length; row += 1) held[row]! += given!.fixed[a]! * column[row]!;
  }
  const modes = findModes(rows, work, variances, held, search);
  if (!modes) return null;
  const { solution, terms } = modes;
  const { equations } = work;
  const restricted = given === null;
  const { rows: spread, effects: share } = leverages(work, solution, restricted);
  // `pull`: slope of log|H| in each row's linear predictor, and how the effects carry it.
  let criterion =
    terms.deviance +
    modes.penalty +
    solution.logDeterminant +
    (restricted ? solution.fixedLogDeterminant - equations.columns * Math.log(2 * Math.PI) : 0);
  criterion += pulled(spread, terms.informationSlope, modes.moved, pull);
  if (!Number.isFinite(criterion)) return null;
  const right: EffectVector = {
    first: new Float64Array(solution.effects.first.length),
    rest: new Float64Array(solution.effects.rest.length),
  };
  sumColumn(work, pull, ones, right.first, right.rest);
  const carried = randomPart({ equations, ...solution }, right);
  if (restricted) carryFixed(work, solution, pull, right, carried);

  const { first, restFactor, factors } = equations;
  const gradient = new Float64Array(factors);
  const information = new Float64Array(factors);
  const add = (k: number, effect: number, part: number, moved: number) => {
    const known = 1 - part;
    gradient[k]! += known + (effect * (moved - effect)) / variances[k]!;
    information[k]! += known * known;
  };
  for (let l = 0; l < right.first.length; l += 1) {
    add(first, solution.effects.first[l]!, share.first[l]!, carried.first[l]!);
  }
  for (let c = 0; c < right.rest.length; c += 1) {
    add(restFactor[c]!, solution.effects.rest[c]!, share.rest[c]!, carried.rest[c]!);
  }

  const fixedGradient = Float64Array.from(given?.columns ?? [], (column) => {
    const weighted = { first: right.first.slice(), rest: right.rest.slice() };
    sumColumn(work, column, terms.information, weighted.first, weighted.rest);
    let value = -dot(weighted, carried);
    for (let row = 0; row < column.length; row += 1) {
      value += column[row]! * (pull[row]! - 2 * terms.score[row]!);
    }
    return value;
  });
  return { modes, criterion, gradient, fixedGradient, information };
}

/** Fills `pull`, and tells what it makes of the last step: H was factored one step before the modes. */
function pulled(spread: Float64Array, slope: Float64Array, moved: Float64Array, pull: Float64Array): number {
  let change = 0;
  for (let row = 0; row < pull.length; row += 1) {
    const value = spread[row]! * slope[row]!;
    pull[row] = value;
    change += value * moved[row]!;
  }
  return change;
}

/** What the fixed effects, integrated over, carry on to the random ones. */
function carryFixed(
  { equations, fixed }: WorkingEquations,
  { fixedCovariance, fixedEffects }: Modes['solution'],
  pull: Float64Array,
  right: EffectVector,
  carried: EffectVector,
): void {
  const { columns } = equations;
  const left = fixed.map((column, a) => {
    let value = -dot(fixedEffects[a]!, right);
    for (let row = 0; row < pull.length; row += 1) value += column[row]! * pull[row]!;
    return value;
  });
  for (let a = 0; a < columns; a += 1) {
    let step = 0;
    for (let b = 0; b < columns; b += 1) step += fixedCovariance[a * columns + b]! * left[b]!;
    for (let l = 0; l < carried.first.length; l += 1) carried.first[l]! -= step * fixedEffects[a]!.first[l]!;
    for (let c = 0; c < carried.rest.length; c += 1) carried.rest[c]! -= step * fixedEffects[a]!.rest[c]!;
  }
}

function dot(a: EffectVector, b: EffectVector): number {
  let total = 0;
  for (let i = 0; i < a.first.length; i += 1) total += a.first[i]! * b.first[i]!;
  for (let i = 0; i < a.rest.length; i += 1) total += a.rest[i]! * b.rest[i]!;
  return total;
}
