import type { Position } from '../football/positions.ts';
import { positions } from '../football/positions.ts';
import { groupBy } from '../grading/group-by.ts';
import { type GradedIn, gamesLately } from '../selection/candidate.ts';
import { eligibility } from '../selection/eligibility.ts';
import { type Finding, leftOut, overall } from '../selection/finding.ts';
import { type Candidate, candidatesOf } from '../selection/proposal-problem.ts';
import { tierNumbers } from '../selection/tiers.ts';
import type { Material } from './stores/material-store.ts';

/** One official in one position as a candidate, in numbers and words: what pages, the API and records show. */
export interface CandidateLine {
  readonly officialId: string;
  readonly name: string;
  readonly position: Position;
  readonly games: number;
  readonly grade: GradedIn['grade'];
  readonly rank: GradedIn['rank'];
  readonly chance: number | null;
  readonly otherChance: number | null;
  /** The best is 1; null where not ranked. */
  readonly tier: number | null;
  readonly crews: readonly string[];
  /** Postseason games of the last three seasons; null where not known. */
  readonly lately: number | null;
  /** One way to the game; null where not known, or where no game is asked about. */
  readonly miles: number | null;
  /** Points by the selection's weights; null where no game is asked about. */
  readonly points: number | null;
  readonly findings: readonly Finding[];
  readonly eligible: ReturnType<typeof overall>;
  /** The program would not propose them. */
  readonly leftOut: boolean;
}

/**
 * The candidates of one position, ranked first by tier and place. With a game, held against its day and its teams too.
 * @param gameId null for the rules that hang on no game
 */
export function candidateLines(
  { problem, names, crewNames }: Material,
  position: Position,
  gameId: string | null,
): CandidateLine[] {
  const graded = problem.graded.filter((one) => one.position === position);
  const tiers = tierNumbers(graded);
  const officials = new Map(problem.officials.map((official) => [official.id, official]));
  const game = problem.games.find(({ id }) => id === gameId);
  const held: Map<string, Candidate> = game
    ? new Map(
        // A game without this position is asked about all the same: by an alternate's place.
        candidatesOf({ ...problem, games: [{ ...game, positions: [position] }] }).map((one) => [
          one.official.id,
          one,
        ]),
      )
    : new Map();
  return graded
    .flatMap((one): CandidateLine[] => {
      const official = officials.get(one.officialId);
      if (!official) return [];
      const inGame = held.get(one.officialId);
      const findings = inGame?.findings ?? eligibility(official, one, problem.rules, null);
      return [
        {
          ...one,
          name: names.get(one.officialId) ?? '',
          tier: tiers.get(one.officialId) ?? null,
          crews: official.crewIds.map((id) => crewNames.get(id) ?? ''),
          lately: gamesLately(official),
          miles: inGame?.miles ?? null,
          points: inGame?.cost.total ?? null,
          findings,
          eligible: overall(findings),
          leftOut: leftOut(findings),
        },
      ];
    })
    .sort(
      (a, b) =>
        (a.tier ?? Infinity) - (b.tier ?? Infinity) ||
        (a.rank?.place ?? Infinity) - (b.rank?.place ?? Infinity) ||
        (a.name < b.name ? -1 : 1),
    );
}

/** Lines by tier, the best first; those who are not ranked last, with no number. */
export const byTier = (lines: readonly CandidateLine[]) =>
  [...groupBy(lines, ({ tier }) => tier)].map(([tier, candidates]) => ({ tier, candidates }));

/** Positions in which anybody is graded, or that a game of the selection has. */
export const positionsToShow = ({ problem }: Material): Position[] => {
  const wanted = new Set([
    ...problem.games.flatMap((game) => game.positions),
    ...(problem.games.length === 0 ? problem.graded.map(({ position }) => position) : []),
  ]);
  return positions.filter((position) => wanted.has(position));
};
