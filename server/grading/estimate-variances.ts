import { type CodedFactor, type NormalEquations, normalEquations } from './normal-equations.ts';
import { slopeOf, solveModel } from './restricted-likelihood.ts';
import { leastRatios, searchVariances, type VarianceSearch } from './variance-search.ts';

interface Estimated extends VarianceSearch {
  equations: NormalEquations;
  /** Where each given factor is in the equations; −1 where its variance is 0 and they do without it. */
  at: number[];
}

/**
 * Finds the variances by restricted maximum likelihood. Factors whose variance goes to 0 are taken out of the equations,
 * which are then quicker to solve, and in the end put back to see that they belong at 0; where one does not, the search
 * goes on with all.
 *
 * @returns null when the equations cannot be factored in double precision.
 */
export function estimateVariances(
  response: Float64Array,
  weights: Float64Array,
  fixed: readonly Float64Array[],
  factors: readonly CodedFactor[],
): Estimated | null {
  const all = factors.map((_, k) => k);
  const equationsOf = (kept: readonly number[]) =>
    normalEquations(
      response,
      weights,
      fixed,
      kept.map((k) => factors[k]!),
    );
  const whole = equationsOf(all);
  let kept = all;
  let equations = whole;
  let search = searchVariances(whole, { pauseAtZero: true });
  while (search && search.nearZero.length > 0) {
    const { nearZero, solution } = search;
    const left = kept.filter((_, i) => !nearZero.includes(i));
    const start = solution.ratios.filter((_, i) => !nearZero.includes(i));
    kept = left;
    equations = equationsOf(kept);
    search = searchVariances(equations, { start, pauseAtZero: true });
  }
  if (search && kept.length < all.length) {
    const start = leastRatios(whole);
    for (const [i, k] of kept.entries()) start[k] = Math.max(start[k]!, search.solution.ratios[i]!);
    const putBack = solveModel(whole, start);
    const rises = putBack && slopeOf(whole, putBack).gradient;
    if (rises?.every((slope, k) => kept.includes(k) || slope >= 0)) {
      return { ...search, equations, at: all.map((k) => kept.indexOf(k)) };
    }
    search = searchVariances(whole, { start });
  }
  search ??= searchVariances(whole);
  return search && { ...search, equations: whole, at: all };
}

/**
 * The solution at given variances.
 *
 * @param ratios of each factor's variance to the residual one; factors of 0 are left out of the equations
 * @returns null when the equations cannot be factored in double precision.
 */
export function atVariances(
  response: Float64Array,
  weights: Float64Array,
  fixed: readonly Float64Array[],
  factors: readonly CodedFactor[],
  ratios: readonly number[],
): Pick<Estimated, 'equations' | 'solution' | 'at' | 'converged' | 'saturated'> | null {
  const kept = [...factors.keys()].filter((k) => ratios[k]! > 0);
  const equations = normalEquations(
    response,
    weights,
    fixed,
    kept.map((k) => factors[k]!),
  );
  const solution = solveModel(
    equations,
    Float64Array.from(kept, (k) => ratios[k]!),
  );
  return (
    solution && {
      equations,
      solution,
      at: [...factors.keys()].map((k) => kept.indexOf(k)),
      converged: true,
      saturated: false,
    }
  );
}
