import { type Combination, type EffectsFit, type Predictions, predict } from './prediction.ts';
import { invertSmall } from './small-matrix.ts';

/** A row of a fitted model, as leaving it out takes it. */
export interface LeftOut {
  /** What its linear predictor is made of, offset aside. */
  combination: Combination;
  /** The row's own variance: σ² ÷ weight, or 1 over the information that a count gives. */
  variance: number;
  /** (Working) response − fitted. */
  residual: number;
}

/**
 * What `predict` would say had these rows not been there, the variances taken as they are: the posterior with the rows'
 * information taken away again (Woodbury's identity; with A the rows' combinations and D their variances, the gain is
 * CAᵀ(D − ACAᵀ)⁻¹). Of counts it is one Newton step.
 *
 * @returns null where nothing else says what the rows say
 */
export function predictWithout(
  fit: EffectsFit,
  combinations: readonly Combination[],
  rows: readonly LeftOut[],
): Predictions | null {
  const all = predict(fit, [...combinations, ...rows.map(({ combination }) => combination)]);
  const size = combinations.length;
  const wide = size + rows.length;
  const left = new Float64Array(rows.length * rows.length);
  for (const [i, { variance }] of rows.entries()) {
    for (let j = 0; j < rows.length; j += 1) {
      left[i * rows.length + j] = (i === j ? variance : 0) - all.covariance[(size + i) * wide + size + j]!;
    }
  }
  for (const [i, { variance }] of rows.entries()) {
    // Next to nothing left of a row's own variance: the row is fitted by itself alone.
    if (!(left[i * rows.length + i]! > 1e-9 * variance)) return null;
  }
  const inverse = invertSmall(left, rows.length)?.inverse;
  if (!inverse) return null;
  const between = (a: number, row: number) => all.covariance[a * wide + size + row]!;
  const gains = combinations.map((_, a) =>
    rows.map((_, i) => rows.reduce((sum, _, j) => sum + between(a, j) * inverse[j * rows.length + i]!, 0)),
  );
  const estimates = Float64Array.from(gains, (gain, a) =>
    rows.reduce((value, { residual }, i) => value - gain[i]! * residual, all.estimates[a]!),
  );
  const covariance = new Float64Array(size * size);
  for (let a = 0; a < size; a += 1) {
    for (let b = 0; b < size; b += 1) {
      covariance[a * size + b] = rows.reduce(
        (value, _, i) => value + gains[a]![i]! * between(b, i),
        all.covariance[a * wide + b]!,
      );
    }
  }
  return { estimates, covariance };
}
