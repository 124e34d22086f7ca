import type { MixedModelFit } from './mixed-model.ts';
import { type Combination, partsOf } from './prediction.ts';
import { invertSmall, type Solution, slopeOf, solveModel } from './restricted-likelihood.ts';

/** A variance of which nothing is known is taken to be known within a factor of e²: this in logarithms. */
const farthest = 2;

/**
 * What is added to the covariance of predictions because the variances are estimated: twice the covariance that their
 * errors give to the predictions (Kackar and Harville 1984, "Approximations for standard errors of estimators of fixed
 * and random effects in mixed linear models", Journal of the American Statistical Association 79; why twice: Prasad and Rao
 * 1990, in the same journal 85, and Kenward and Roger 1997, Biometrics 53). How predictions move is told
 * by solving anew one standard error to either side. A variance found to be 0 is left at 0.
 *
 * @returns what gives, for combinations, the addition: square, row by row, in squared units of the response
 */
export function varianceUncertainty(
  fit: MixedModelFit,
): (combinations: readonly Combination[]) => Float64Array {
  const { equations, solution, scale } = fit.state;
  const pairs = equations && solution ? nearby(fit) : [];
  return (combinations) => {
    const size = combinations.length;
    const added = new Float64Array(size * size);
    if (!equations || !solution) return added;
    // Solutions are in units of the response divided by this.
    const unit = Math.sqrt((scale * (equations.rows - equations.columns)) / solution.residual);
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
function nearby(fit: MixedModelFit): [above: Solution, below: Solution][] {
  const { equations, solution } = fit.state;
  const { ratios } = solution!;
  const { curvature } = slopeOf(equations!, solution!);
  const count = ratios.length;
  // The criterion is −2 log-likelihood: half its curvature is the information.
  const information = Float64Array.from(
    curvature,
    (value, at) => (value * ratios[Math.floor(at / count)]! * ratios[at % count]!) / 2,
  );
  for (let k = 0; k < count; k += 1) information[k * count + k]! += 1 / farthest ** 2;
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
