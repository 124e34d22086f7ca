import { type Combination, type EffectsFit, partsOf, predict } from './prediction.ts';
import { type Solution, slopeOf, solveModel } from './restricted-likelihood.ts';
import { invertSmall } from './small-matrix.ts';

/** A variance of which nothing is known is taken to be known within a factor of e²: this in logarithms. */
const farthest = 2;
/** Information that leaves nothing uncertain. */
const certain = 1e12;

/** What is added to the covariance of combinations' predictions: square, row by row, in squared units of the response. */
export type Uncertainty = (combinations: readonly Combination[]) => Float64Array;

/** The variances taken for known: for who asks for estimates only, and need not wait for the rest. */
export const variancesKnown: Uncertainty = ({ length }) => new Float64Array(length * length);

/** Predictions as `predict` gives them, with what `varianceUncertainty` adds to their covariance. */
export function predictWith(uncertainty: Uncertainty, fit: EffectsFit, combinations: readonly Combination[]) {
  const predicted = predict(fit, combinations);
  for (const [at, more] of uncertainty(combinations).entries()) predicted.covariance[at]! += more;
  return predicted;
}

/**
 * What is added to the covariance of predictions because the variances are estimated: twice the covariance that their
 * errors give to the predictions (Kackar and Harville 1984, "Approximations for standard errors of estimators of fixed
 * and random effects in mixed linear models", Journal of the American Statistical Association 79; why twice: Prasad and Rao
 * 1990, in the same journal 85, and Kenward and Roger 1997, Biometrics 53). How predictions move is told
 * by solving anew one standard error to either side. A variance found to be 0 is left at 0. Of counts, the equations are
 * those of the last step to the modes, from which one more step is taken.
 *
 * @param ofCounts where the fit is one of counts: their variance is known from their mean
 * @param held factors whose variance was given
 */
export function varianceUncertainty(
  fit: EffectsFit,
  { ofCounts = false, held = [] }: { ofCounts?: boolean; held?: readonly string[] } = {},
): Uncertainty {
  const { equations, solution, unit } = fit.state;
  const pairs = equations && solution ? nearby(fit, ofCounts ? 1 : undefined, held) : [];
  return (combinations) => {
    const size = combinations.length;
    const added = new Float64Array(size * size);
    if (!equations || !solution) return added;
    const parts = combinations.map((combination) => partsOf(fit, combination));
    for (const [above, below] of pairs) {
      const half = parts.map(({ coefficients, entries }) => {
        let moved = 0;
        for (const [j, value] of coefficients.entries()) moved += value * (above.fixed[j]! - below.fixed[j]!);
        for (const { part, index, times } of entries)
          moved += times * (above.effects[part][index]! - below.effects[part][index]!);
        return (unit * moved) / 2;
      });
      for (let i = 0; i < size; i += 1) {
        for (let j = 0; j < size; j += 1) added[i * size + j]! += 2 * half[i]! * half[j]!;
      }
    }
    return added;
  };
}

/** Solutions one standard error to either side of the ratios found, in independent directions. */
function nearby(
  fit: EffectsFit,
  known: number | undefined,
  held: readonly string[],
): [above: Solution, below: Solution][] {
  const { equations, solution, factorIndex } = fit.state;
  const { ratios } = solution!;
  const { curvature } = slopeOf(equations!, solution!, known);
  const count = ratios.length;
  // The criterion is −2 log-likelihood: half its curvature is the information.
  const information = Float64Array.from(
    curvature,
    (value, at) => (value * ratios[Math.floor(at / count)]! * ratios[at % count]!) / 2,
  );
  for (let k = 0; k < count; k += 1) information[k * count + k]! += 1 / farthest ** 2;
  for (const [at, { name }] of fit.factors.entries()) {
    const k = factorIndex[at]!;
    if (k >= 0 && held.includes(name)) information[k * count + k]! += certain;
  }
  const covariance = invertSmall(information, count)?.inverse;
  if (!covariance) return [];
  return directions(covariance, count).flatMap((direction): [Solution, Solution][] => {
    const at = (sign: number) =>
      solveModel(
        equations!,
        ratios.map((ratio, k) => ratio * Math.exp(sign * direction[k]!)),
      );
    const above = at(1);
    const below = at(-1);
    return above && below ? [[above, below]] : [];
  });
}

/** Columns of L with L Lᵀ = covariance. */
function directions(covariance: Float64Array, size: number): Float64Array[] {
  const columns: Float64Array[] = [];
  const left = covariance.slice();
  for (let k = 0; k < size; k += 1) {
    const pivot = left[k * size + k]!;
    if (!(pivot > 0)) continue;
    const column = Float64Array.from({ length: size }, (_, i) => left[i * size + k]! / Math.sqrt(pivot));
    for (let i = 0; i < size; i += 1)
      for (let j = 0; j < size; j += 1) left[i * size + j]! -= column[i]! * column[j]!;
    columns.push(column);
  }
  return columns;
}
