import type { MixedModelFit } from './mixed-model.ts';
import {
  type EffectPlace,
  type EffectVector,
  inverseDiagonal,
  randomCovariance,
} from './restricted-likelihood.ts';

/** A fit that effects are predicted from, of a linear model or of counts. */
export type EffectsFit = Pick<MixedModelFit, 'fixed' | 'factors' | 'state'>;

/** What to predict: a sum of fixed effects (with coefficients) and of effects of named levels. */
export interface Combination {
  fixed?: Readonly<Record<string, number>>;
  /** Each once or `times`; a level without rows is predicted as 0 with its factor's variance. */
  effects?: readonly { factor: string; level: string | number; times?: number }[];
}

export interface Predictions {
  estimates: Float64Array;
  /** Covariance of the prediction errors, square, row by row: the variances taken as known. */
  covariance: Float64Array;
}

/**
 * Predicts combinations of fixed and random effects together with the joint covariance of their errors
 * (Henderson 1975): under a flat prior on β this is the joint posterior at the estimated variances.
 *
 * @throws RangeError when a name is not in the model.
 */
export function predict(fit: EffectsFit, combinations: readonly Combination[]): Predictions {
  const size = combinations.length;
  const { equations, solution, scale } = fit.state;
  const estimates = new Float64Array(size);
  const covariance = new Float64Array(size * size);
  const parts = combinations.map((combination) => partsOf(fit, combination));
  for (const [i, part] of parts.entries()) estimates[i] = part.estimate;
  if (!equations || !solution) return { estimates, covariance };

  const p = equations.columns;
  const at = (vector: EffectVector, entries: readonly EffectPlace[]) =>
    entries.reduce((sum, { part, index, times }) => sum + times * vector[part][index]!, 0);
  const random = randomCovariance(
    equations,
    solution,
    parts.map(({ entries }) => entries),
  );
  const fixed = parts.map(({ coefficients, entries }) =>
    coefficients.map((value, j) => value - at(solution.fixedEffects[j]!, entries)),
  );
  const spread = fixed.map((values) => {
    const out = new Float64Array(p);
    for (let a = 0; a < p; a += 1) {
      for (let b = 0; b < p; b += 1) out[a]! += solution.fixedCovariance[a * p + b]! * values[b]!;
    }
    return out;
  });
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let value = random[i * size + j]!;
      for (let k = 0; k < p; k += 1) value += fixed[i]![k]! * spread[j]![k]!;
      value *= scale;
      for (const [key, { times, variance }] of parts[i]!.unseen) {
        value += times * (parts[j]!.unseen.get(key)?.times ?? 0) * variance;
      }
      if (i === j) value = Math.max(0, value);
      covariance[i * size + j] = value;
      covariance[j * size + i] = value;
    }
  }
  return { estimates, covariance };
}

/** A combination in the terms of the equations. @throws RangeError when a name is not in the model. */
export function partsOf(fit: EffectsFit, combination: Combination) {
  const { equations, columns, factorIndex, levelIndex } = fit.state;
  const coefficients = new Float64Array(equations?.columns ?? 0);
  const unseen = new Map<string, { times: number; variance: number }>();
  const effects = [...(combination.effects ?? [])];
  let estimate = 0;
  for (const [name, coefficient] of Object.entries(combination.fixed ?? {})) {
    const j = fit.fixed.findIndex((effect) => effect.name === name);
    if (j < 0) throw new RangeError(`no fixed effect "${name}" in the model`);
    const { index, norm } = columns[j]!;
    estimate += coefficient * (fit.fixed[j]!.estimate ?? 0);
    if (index >= 0 && equations) coefficients[index]! += coefficient / norm;
    for (const { factor, level } of fit.state.outside[j]!) {
      effects.push({ factor: fit.factors[factor]!.name, level, times: coefficient });
    }
  }
  const entries: EffectPlace[] = [];
  for (const { factor, level, times = 1 } of effects) {
    const k = fit.factors.findIndex((candidate) => candidate.name === factor);
    if (k < 0) throw new RangeError(`no factor "${factor}" in the model`);
    const l = levelIndex[k]!.get(level);
    if (l === undefined) {
      const key = JSON.stringify([factor, level]);
      unseen.set(key, {
        times: times + (unseen.get(key)?.times ?? 0),
        variance: fit.factors[k]!.variance,
      });
      continue;
    }
    estimate += times * fit.factors[k]!.effects[l]!;
    const index = factorIndex[k]!;
    if (index < 0 || !equations) continue;
    const place = equations.place[index];
    entries.push(place ? { part: 'rest', index: place[l]!, times } : { part: 'first', index: l, times });
  }
  return { estimate, coefficients, entries, unseen };
}

/**
 * Of each level of a factor: the standard error of its predicted effect (root of the prediction error
 * variance) and its reliability, 1 − PEV/σ_k² (0 when the factor's variance is 0).
 *
 * @throws RangeError when the factor is not in the model.
 */
export function levelErrors(
  fit: EffectsFit,
  factor: string,
): { standardErrors: Float64Array; reliabilities: Float64Array } {
  const k = fit.factors.findIndex((candidate) => candidate.name === factor);
  if (k < 0) throw new RangeError(`no factor "${factor}" in the model`);
  const { variance, levels } = fit.factors[k]!;
  const standardErrors = new Float64Array(levels.length);
  const reliabilities = new Float64Array(levels.length);
  const { equations, solution, factorIndex, scale } = fit.state;
  const index = factorIndex[k]!;
  if (!equations || !solution || index < 0 || !(variance > 0)) return { standardErrors, reliabilities };
  fit.state.inverse ??= inverseDiagonal(equations, solution);
  const place = equations.place[index];
  const p = equations.columns;
  for (let l = 0; l < levels.length; l += 1) {
    const at = place ? place[l]! : l;
    const part = place ? 'rest' : 'first';
    let share = solution.ratios[index]! * fit.state.inverse[part][at]!;
    for (let a = 0; a < p; a += 1) {
      for (let b = 0; b < p; b += 1) {
        share +=
          solution.fixedEffects[a]![part][at]! *
          solution.fixedCovariance[a * p + b]! *
          solution.fixedEffects[b]![part][at]!;
      }
    }
    const errorVariance = Math.max(0, share * scale);
    standardErrors[l] = Math.sqrt(errorVariance);
    reliabilities[l] = Math.min(1, Math.max(0, 1 - errorVariance / variance));
  }
  return { standardErrors, reliabilities };
}
