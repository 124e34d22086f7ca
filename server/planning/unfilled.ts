import { choicesIn, planModel } from './linear-model.ts';
import type { LinearModel } from './packed-model.ts';
import { costOf } from './plan-cost.ts';
import type { Choice } from './planning-problem.ts';
import type { Candidate, PreparedProblem } from './prepared-problem.ts';
import { asStanding, type BrokenRule, type Rule, rules, rulesBrokenBeside } from './rules.ts';
import type { Solution, SolveLimits } from './solver.ts';

/** What filling the game by looking away from some rules, for this game alone, would give. */
export interface Relief {
  readonly rules: readonly Rule[];
  /** Who would watch the game, in the cheapest plan that fills it. */
  readonly choice: Choice;
  readonly broken: readonly BrokenRule[];
  /** Miles more than the present plan, the gain of filling the game itself left out. */
  readonly extraCost: number;
  /** How many other assignments the cheapest such plan changes. */
  readonly otherChanges: number;
}

interface Obstacle {
  readonly rule: Rule;
  /** Null when looking away from this rule alone does not fill the game. */
  readonly relief: Relief | null;
}

export interface UnfilledGame {
  readonly gameId: string;
  readonly lacking: number;
  /** The smallest set of rules that by themselves leave the game unfilled. Empty: too few observers exist. */
  readonly obstacles: readonly Obstacle[];
  /** When no rule alone helps: the smallest sets of rules that do together. */
  readonly together: readonly Relief[];
  /** False when the time for explanations ran out before this game. */
  readonly explained: boolean;
}

type Solver = (model: LinearModel, limits: SolveLimits) => Promise<Solution>;

function* subsetsBySize<T>(items: readonly T[], from = 0): Generator<T[]> {
  for (let size = from; size <= items.length; size += 1) yield* subsetsOf(items, size);
}

function* subsetsOf<T>(items: readonly T[], size: number, at = 0): Generator<T[]> {
  if (size === 0) {
    yield [];
    return;
  }
  for (let first = at; first <= items.length - size; first += 1)
    for (const rest of subsetsOf(items, size - 1, first + 1)) yield [items[first] as T, ...rest];
}

/**
 * Why games stay unfilled. For each, with every other filled place kept filled (by anyone), asks the solver
 * which rules make one more observer impossible: a minimal unsatisfiable set, found smallest first over the
 * seven rules, with answers reused since relaxing more never fills less.
 */
export async function explainUnfilled(
  prepared: PreparedProblem,
  choices: readonly Choice[],
  solve: Solver,
  seconds = 10,
): Promise<UnfilledGame[]> {
  const started = performance.now();
  const timeLeft = () => seconds - (performance.now() - started) / 1000;
  const found: UnfilledGame[] = [];
  const planned = choices.flatMap((choice) => {
    const game = prepared.games.get(choice.gameId);
    return game ? [asStanding(choice, game)] : [];
  });
  const present = costOf(prepared, choices);
  for (const game of prepared.problem.games) {
    const lacking = game.observersWanted - choices.filter((choice) => choice.gameId === game.id).length;
    if (lacking <= 0) continue;
    if (timeLeft() <= 0) {
      found.push({ gameId: game.id, lacking, obstacles: [], together: [], explained: false });
      continue;
    }
    const keep = new Map<string, number>();
    for (const choice of choices) keep.set(choice.gameId, (keep.get(choice.gameId) ?? 0) + 1);
    keep.set(game.id, (keep.get(game.id) ?? 0) + 1);

    const brokenNow = (candidate: Candidate): BrokenRule[] => {
      const beside = rulesBrokenBeside(candidate.observer, game, candidate.mode, [
        ...(prepared.standingOf.get(candidate.observerId) ?? []),
        ...planned,
      ]);
      const alone = new Set(candidate.broken.map(({ rule }) => rule));
      return [...candidate.broken, ...beside.filter(({ rule }) => !alone.has(rule))];
    };
    // Relaxations that one observer could use with the rest of the plan as it is: known without solving.
    const atHand = prepared.candidates
      .filter(
        (candidate) =>
          candidate.gameId === game.id &&
          !choices.some((choice) => choice.gameId === game.id && choice.observerId === candidate.observerId),
      )
      .map((candidate) => new Set(brokenNow(candidate).map(({ rule }) => rule)));
    const answers: { relaxed: ReadonlySet<Rule>; fills: boolean }[] = [];
    const isWithin = (a: ReadonlySet<Rule>, b: ReadonlySet<Rule>) => [...a].every((rule) => b.has(rule));
    const ask = (relaxed: ReadonlySet<Rule>) =>
      solve(planModel(prepared, [], { gameId: game.id, rules: relaxed, keep }).model, {
        seconds: Math.max(0.2, timeLeft()),
        absoluteGap: 1e12,
      });
    const fills = async (relaxed: ReadonlySet<Rule>): Promise<boolean> => {
      if (atHand.some((needed) => isWithin(needed, relaxed))) return true;
      for (const answer of answers) {
        if (answer.fills && isWithin(answer.relaxed, relaxed)) return true;
        if (!answer.fills && isWithin(relaxed, answer.relaxed)) return false;
      }
      const { status } = await ask(relaxed);
      const answer = { relaxed, fills: status === 'optimal' || status === 'feasible' };
      answers.push(answer);
      return answer.fills;
    };
    const relief = async (relaxed: readonly Rule[]): Promise<Relief | null> => {
      const asked = new Set(relaxed);
      if (!(await fills(asked))) return null;
      const model = planModel(prepared, prepared.separateGroups, { gameId: game.id, rules: asked, keep });
      const solution = await solve(model.model, { seconds: Math.max(0.5, timeLeft()), absoluteGap: 1 });
      if (solution.status !== 'optimal' && solution.status !== 'feasible') return null;
      const plan = choicesIn(model, solution.values);
      const cost = costOf(prepared, plan);
      const same = (a: Choice, b: Choice) =>
        a.gameId === b.gameId && a.observerId === b.observerId && a.mode === b.mode;
      const added = plan.filter((choice) => !choices.some((old) => same(old, choice)));
      const here = plan.filter((choice) => choice.gameId === game.id);
      const others = plan.flatMap((choice) => {
        const at = prepared.games.get(choice.gameId);
        return at ? [asStanding(choice, at)] : [];
      });
      const judged = here.map((choice) => {
        const candidate = prepared.candidate(choice) as Candidate;
        const standing = prepared.standingOf.get(choice.observerId) ?? [];
        const alone = new Set(candidate.broken.map(({ rule }) => rule));
        const beside = rulesBrokenBeside(candidate.observer, game, choice.mode, [...standing, ...others]);
        return { choice, broken: [...candidate.broken, ...beside.filter(({ rule }) => !alone.has(rule))] };
      });
      const chosen = judged.sort((a, b) => b.broken.length - a.broken.length)[0];
      if (!chosen) return null;
      return {
        rules: relaxed,
        choice: chosen.choice,
        broken: chosen.broken,
        extraCost: cost.total - cost.unfilled - (present.total - present.unfilled),
        otherChanges: added.filter((choice) => choice.gameId !== game.id).length,
      };
    };

    let obstacles: readonly Rule[] = [];
    for (const enforced of subsetsBySize(rules)) {
      const relaxed = new Set(rules.filter((rule) => !enforced.includes(rule)));
      if (!(await fills(relaxed))) {
        obstacles = enforced;
        break;
      }
    }
    const judged: Obstacle[] = [];
    for (const rule of obstacles) judged.push({ rule, relief: await relief([rule]) });
    const together: Relief[] = [];
    if (obstacles.length > 0 && judged.every((obstacle) => obstacle.relief === null)) {
      let size = 0;
      for (const relaxed of subsetsBySize(rules, 2)) {
        if (size > 0 && relaxed.length > size) break;
        const gives = await relief(relaxed);
        if (!gives) continue;
        size = relaxed.length;
        together.push(gives);
      }
    }
    found.push({ gameId: game.id, lacking, obstacles: judged, together, explained: true });
  }
  return found;
}
