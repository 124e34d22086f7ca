import type { Position } from '../football/positions.ts';
import { groupBy } from '../grading/group-by.ts';
import { milesBetween } from '../planning/distance.ts';
import { type GameToFill, type GradedIn, gamesLately, type OfficialToSelect } from './candidate.ts';
import { eligibility } from './eligibility.ts';
import { type Finding, leftOut } from './finding.ts';
import { neutrality } from './neutrality.ts';
import type { SelectionRules, SelectionWeights } from './rules.ts';
import type { Slot } from './slots.ts';
import { tierNumbers } from './tiers.ts';

/** Who works which place. Of an alternate, `position` is the one in which they are graded. */
export interface Choice {
  readonly gameId: string;
  readonly slot: Slot;
  readonly position: Position;
  readonly officialId: string;
}

export interface CrewOfSeason {
  readonly id: string;
  readonly name: string;
  readonly members: ReadonlyMap<Position, string>;
}

export interface ProposalProblem {
  readonly games: readonly GameToFill[];
  readonly officials: readonly OfficialToSelect[];
  readonly graded: readonly GradedIn[];
  readonly crews: readonly CrewOfSeason[];
  readonly rules: SelectionRules;
  readonly weights: SelectionWeights;
  /** What people have chosen already: it stays, whatever a rule says. */
  readonly fixed: readonly Choice[];
}

/** Points of one official in one place, by what they are for; fewer are better. */
export interface CostParts {
  readonly chance: number;
  readonly tier: number;
  readonly rotation: number;
  readonly travel: number;
  readonly total: number;
}

/** One official in one position of one game. */
export interface Candidate {
  readonly game: GameToFill;
  readonly official: OfficialToSelect;
  readonly graded: GradedIn;
  /** The best is 1; null without a rank. */
  readonly tier: number | null;
  readonly findings: readonly Finding[];
  readonly leftOut: boolean;
  /** One way, as the crow flies; null where either end has no coordinates. */
  readonly miles: number | null;
  readonly cost: CostParts;
}

/** The mean of what is known of the chance by both models; null where neither tells. */
function meanChance({ chance, otherChance }: GradedIn): number | null {
  const known = [chance, otherChance].filter((one) => one !== null);
  return known.length === 0 ? null : known.reduce((sum, one) => sum + one, 0) / known.length;
}

/** Everybody graded in a position of a game, for each game, with how they stand in every rule and what they cost. */
export function candidatesOf(problem: Omit<ProposalProblem, 'fixed'>): Candidate[] {
  const { rules, weights } = problem;
  const officials = new Map(problem.officials.map((official) => [official.id, official]));
  const byPosition = groupBy(problem.graded, ({ position }) => position);
  const tiers = new Map([...byPosition].map(([position, graded]) => [position, tierNumbers(graded)]));
  return problem.games.flatMap((game) =>
    game.positions.flatMap((position) =>
      (byPosition.get(position) ?? []).flatMap((graded) => {
        const official = officials.get(graded.officialId);
        if (!official) return [];
        const findings = [
          ...eligibility(official, graded, rules, game.playedOn),
          ...neutrality(official, game, rules),
        ];
        const tier = tiers.get(position)?.get(official.id) ?? null;
        const miles = official.home && game.place ? milesBetween(official.home, game.place) : null;
        const parts = {
          // A chance that is not known is taken for none: nobody gains by not having been watched.
          chance: weights.chance * (1 - (meanChance(graded) ?? 0)),
          tier: weights.tier * ((tier ?? 1) - 1),
          rotation: weights.rotation * (gamesLately(official) ?? 0),
          travel: weights.travel * ((miles ?? 0) / 100),
        };
        const total = parts.chance + parts.tier + parts.rotation + parts.travel;
        return [
          {
            ...{ game, official, graded, tier, findings, miles },
            leftOut: leftOut(findings),
            cost: { ...parts, total },
          },
        ];
      }),
    ),
  );
}
