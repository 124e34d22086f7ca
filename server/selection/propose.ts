import { solve } from '../planning/solver.ts';
import { placeModel } from './place-model.ts';
import {
  type Candidate,
  type Choice,
  type CostParts,
  candidatesOf,
  type ProposalProblem,
} from './proposal-problem.ts';
import type { SelectionWeights } from './rules.ts';
import { alternateSlot, isAlternate, slotsOf } from './slots.ts';
import { type UnfilledPlace, unfilledPlaces } from './unfilled-places.ts';

/** A place filled by the program, with what it cost and why in points; what people chose is not among them. */
interface ProposedChoice extends Choice {
  readonly cost: CostParts;
  readonly tier: number | null;
  readonly miles: number | null;
}

export interface Proposal {
  readonly choices: readonly ProposedChoice[];
  /** What people had chosen before, and so was left as it is. */
  readonly fixed: readonly Choice[];
  readonly unfilled: readonly UnfilledPlace[];
  readonly weights: SelectionWeights;
  /** Points of all that is proposed. */
  readonly total: number;
  /**
   * No proposal under these rules and weights fills more positions, or as many with fewer points in them, and its alternates
   * are the best that these positions leave; other positions might leave better ones. False: time ran out before it was proven.
   */
  readonly best: boolean;
}

const seconds = 20;

/**
 * Fills every place that can be filled at the fewest points: first the positions of all games together, then their
 * alternates from whoever is left. It proposes; people decide.
 */
export async function propose(problem: ProposalProblem): Promise<Proposal> {
  const candidates = candidatesOf(problem);
  const inPositions = await fill(problem, candidates, 'positions');
  const settled = { ...problem, fixed: [...problem.fixed, ...inPositions.choices] };
  const alternates = await fill(settled, candidates, 'alternates');
  const choices = numbered(problem, [...inPositions.choices, ...alternates.choices], candidates);
  const proposed = choices.map((choice): ProposedChoice => {
    const { cost, tier, miles } = candidateOf(candidates, choice);
    return { ...choice, cost, tier, miles };
  });
  return {
    choices: proposed,
    fixed: problem.fixed,
    unfilled: unfilledPlaces(problem, candidates, [...problem.fixed, ...choices]),
    weights: problem.weights,
    total: proposed.reduce((sum, { cost }) => sum + cost.total, 0),
    best: inPositions.best && alternates.best,
  };
}

async function fill(
  problem: ProposalProblem,
  candidates: readonly Candidate[],
  which: 'positions' | 'alternates',
): Promise<{ choices: Choice[]; best: boolean }> {
  const { model, columns } = placeModel(problem, candidates, which);
  const { status, values } = await solve(model, { seconds, absoluteGap: 1e-7 });
  if (status === 'infeasible') throw new Error('A proposal leaves places empty rather than fail.');
  return {
    choices: columns.filter(({ at }) => (values[at] ?? 0) > 0.5).flatMap(({ choices }) => choices),
    best: status === 'optimal',
  };
}

const candidateOf = (candidates: readonly Candidate[], choice: Choice): Candidate =>
  candidates.find(
    ({ game, graded, official }) =>
      game.id === choice.gameId && graded.position === choice.position && official.id === choice.officialId,
  ) as Candidate;

/** Alternates take the numbers that are free, those of the fewest points first; the rest stays in the order of places. */
function numbered(
  { games, fixed }: ProposalProblem,
  choices: readonly Choice[],
  candidates: readonly Candidate[],
): Choice[] {
  return games.flatMap((game) => {
    const here = choices.filter(({ gameId }) => gameId === game.id);
    const free = slotsOf(game).filter(
      (slot) => isAlternate(slot) && !fixed.some((one) => one.gameId === game.id && one.slot === slot),
    );
    const alternates = here
      .filter(({ slot }) => isAlternate(slot))
      .sort((a, b) => candidateOf(candidates, a).cost.total - candidateOf(candidates, b).cost.total)
      .map((choice, at) => ({ ...choice, slot: free[at] ?? alternateSlot(at + 1) }));
    const inPositions = game.positions.flatMap((position) => here.filter(({ slot }) => slot === position));
    return [...inPositions, ...alternates];
  });
}
