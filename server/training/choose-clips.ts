import type { LinearModel } from '../planning/packed-model.ts';
import { type Solution, solve } from '../planning/solver.ts';
import { clipModel } from './clip-model.ts';
import { type ClipProblem, faultIn } from './clip-problem.ts';

export interface ClipChoice {
  /** Ids of the lessons chosen, in the order in which they were given. */
  readonly chosen: readonly string[];
  /** Points of the plays, less what praise alone and more bad than good plays of somebody cost (`clip-problem.ts`). */
  readonly worth: number;
  /** No choice within the limits is worth more. */
  readonly bound: number;
  /** Proved to be the best. False when time ran out: `bound` says how far off it may be. */
  readonly proven: boolean;
  readonly seconds: number;
}

// Points and prices are whole, so a choice within less than one point of the bound is the best.
const lessThanOnePoint = 0.999;

/**
 * The best choice of plays within the limits, by the HiGHS solver (`planning/solver.ts`). Blocks its thread.
 *
 * First without whole numbers: that gives a bound, and of each play how much the whole is worth less with it. Plays that
 * cost more than a margin are put aside, and the rest is solved in whole numbers. When the answer lies within the margin
 * of the bound, nothing put aside can be in a better one; else the margin is widened to what was found (fixing by reduced
 * costs: Crowder, H., Johnson, E. L. and Padberg, M. (1983), "Solving large-scale zero-one linear programming problems",
 * Operations Research 31, 803-834).
 *
 * @param seconds how long it may look
 * @throws Error in one sentence when the problem is not well formed or no answer was found in time
 */
export async function chooseClips(problem: ClipProblem, seconds = 10): Promise<ClipChoice> {
  const fault = faultIn(problem);
  if (fault) throw new Error(fault);
  const started = performance.now();
  const elapsed = () => (performance.now() - started) / 1000;
  const left = () => ({ seconds: Math.max(0.5, seconds - elapsed()), absoluteGap: lessThanOnePoint });
  const model = clipModel(problem);
  const relaxed = await solve({ ...model, whole: model.whole.map(() => false) }, left());
  const without = relaxed.reducedCosts;

  let margin = without ? firstMargin : Infinity;
  for (;;) {
    const solution = await solve(withoutDear(model, problem, without, margin), left());
    const isAnswer = solution.values.length > 0;
    const loss = solution.objective - relaxed.objective;
    const widen = without !== undefined && margin < Infinity && !(isAnswer && loss <= margin);
    if (widen && elapsed() < seconds) {
      margin = isAnswer ? Math.ceil(loss) : Infinity;
      continue;
    }
    if (!isAnswer)
      throw new Error('No choice of plays was found in time; narrow the candidates and try again.');
    const proven = solution.status === 'optimal' && !widen;
    const worth = Math.round(-solution.objective) + 0; // no worth is 0, not −0
    const bound = proven ? worth : mostWorth(relaxed, solution, margin);
    return {
      chosen: problem.lessons.filter((_, at) => solution.values[at]! > 0.5).map(({ id }) => id),
      worth,
      bound: Math.max(worth, bound),
      proven,
      seconds: elapsed(),
    };
  }
}

/** Points: seldom is the best in whole numbers further from the bound. */
const firstMargin = 2;

/**
 * What no choice is worth more than, by the relaxation and by a solution without what costs more than the margin: a choice
 * with something that was put aside loses more than the margin, any other is one of the solution's.
 */
export function mostWorth(
  relaxed: Pick<Solution, 'objective' | 'bound'>,
  solution: Pick<Solution, 'bound'>,
  margin: number,
): number {
  const least = Math.max(relaxed.bound, Math.min(solution.bound, relaxed.objective + margin));
  return Math.floor(-least + 1e-6);
}

/** The model with the plays put aside that cost more than the margin. */
export function withoutDear(
  model: LinearModel,
  { lessons }: ClipProblem,
  costs: Float64Array | undefined,
  margin: number,
): LinearModel {
  if (costs === undefined || margin === Infinity) return model;
  const upper = [...model.upper];
  // What is locked has its lower bound at 1 and stays.
  lessons.forEach((_, at) => {
    if (model.lower[at] === 0 && costs[at]! > margin) upper[at] = 0;
  });
  return { ...model, upper };
}
