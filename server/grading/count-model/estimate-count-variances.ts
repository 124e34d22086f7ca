import type { CodedFactor } from '../normal-equations.ts';
import { laplaceAt } from './laplace.ts';
import type { CountRows } from './modes.ts';
import {
  type CountSearch,
  leastVariance,
  type SearchGoal,
  type SearchStart,
  searchCountVariances,
} from './variance-search.ts';
import { type WorkingEquations, workingEquations } from './working-equations.ts';

/** Where the variances were found, in equations without the factors that have none. */
interface CountEstimate extends CountSearch {
  work: WorkingEquations;
  /** Where each given factor is in the equations; −1 where its variance is 0 and they do without it. */
  at: number[];
}

/**
 * Finds the variances as `searchCountVariances` does. Factors whose variance goes to 0 are taken out of the equations,
 * which are then quicker to solve, and in the end put back to see that they belong at 0; where one does not, the search
 * goes on with all.
 *
 * @param columns fixed effects to integrate over; those that are moved along are in `start`
 * @returns null when the equations cannot be solved in double precision.
 */
export function estimateCountVariances(
  rows: CountRows,
  columns: readonly Float64Array[],
  factors: readonly CodedFactor[],
  start: SearchStart,
  goal: SearchGoal,
): CountEstimate | null {
  const all = factors.map((_, k) => k);
  const workOf = (kept: readonly number[]) =>
    workingEquations(
      rows.response.length,
      columns,
      kept.map((k) => factors[k]!),
    );
  const heldOf = (kept: readonly number[]) => kept.map((k) => start.held?.[k] === true);
  const neverZeroOf = (kept: readonly number[]) => kept.map((k) => start.neverZero?.[k] === true);
  const whole = workOf(all);
  let kept = all;
  let work = whole;
  let evaluations = 0;
  let search = searchCountVariances(rows, whole, { ...start, pauseAtZero: true }, goal);
  while (search && search.nearZero.length > 0) {
    const { nearZero, variances, fixed, modes } = search;
    evaluations += search.evaluations;
    const stays = (_: unknown, i: number) => !nearZero.includes(i);
    kept = kept.filter(stays);
    work = workOf(kept);
    const from = {
      ...start,
      variances: variances.filter(stays),
      fixed,
      predictor: modes.predictor,
      held: heldOf(kept),
      neverZero: neverZeroOf(kept),
    };
    search = searchCountVariances(rows, work, { ...from, pauseAtZero: true }, goal);
  }
  if (!search) return null;
  evaluations += search.evaluations;
  if (kept.length === all.length) return { ...search, evaluations, work, at: all };

  const at = all.map((k) => kept.indexOf(k));
  const { variances: found, fixed, modes } = search;
  const putBack = laplaceAt(
    rows,
    whole,
    Float64Array.from(at, (index) => (index < 0 ? leastVariance : Math.max(found[index]!, leastVariance))),
    start.columns.length > 0 ? { fixed, columns: start.columns } : null,
    { tolerance: goal.modes, from: modes.predictor },
  );
  evaluations += 1;
  if (putBack?.gradient.every((slope, k) => at[k]! >= 0 || slope >= 0)) {
    return { ...search, evaluations, work, at };
  }
  const again = searchCountVariances(
    rows,
    whole,
    {
      ...start,
      variances: Float64Array.from(at, (index, k) => (index < 0 ? start.variances[k]! : found[index]!)),
      fixed,
      predictor: modes.predictor,
    },
    goal,
  );
  return again && { ...again, evaluations: evaluations + again.evaluations, work: whole, at: all };
}
