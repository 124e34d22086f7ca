import { type GradeOptions, gradeOf, type PlainGrade, type WeightedCount } from './game-grade.ts';

/** One official's counts from one game, in one position. Two reports of a game are two entries. */
export interface GameCounts {
  game: string;
  rows: readonly WeightedCount[];
}

/** What it takes to be ranked: the coordinator's setting. */
export interface Eligibility {
  minimumGames: number;
  minimumOpportunities: number;
}

export interface SeasonGrade {
  /** All the season's opportunities pooled, graded as if they were one game. */
  pooled: PlainGrade;
  /** Different games with at least one counted opportunity. */
  games: number;
  opportunities: number;
  /** Why this official is listed without a rank; null when eligible. */
  unrankedReason: string | null;
}

/**
 * Pools an official's games in one position into the season grade and says whether they can be ranked.
 * Pooling means that a game with more opportunities counts more; it is not the mean of the game grades.
 *
 * @throws RangeError as `gradeOf`.
 */
export function gradeSeason(
  games: readonly GameCounts[],
  eligibility: Eligibility = { minimumGames: 0, minimumOpportunities: 0 },
  options: GradeOptions = {},
): SeasonGrade {
  const pooled = gradeOf(
    games.flatMap((game) => game.rows),
    options,
  );
  const counted = new Set<string>();
  for (const { game, rows } of games) if (rows.some((row) => row.opportunities > 0)) counted.add(game);
  return {
    pooled,
    games: counted.size,
    opportunities: pooled.opportunities,
    unrankedReason:
      pooled.grade === null
        ? `no grade: ${pooled.reason}`
        : reasonBelow(eligibility, counted.size, pooled.opportunities),
  };
}

/** Which of the coordinator's minimums is not reached, in words; null when both are. */
export function reasonBelow(eligibility: Eligibility, games: number, opportunities: number): string | null {
  const { minimumGames, minimumOpportunities } = eligibility;
  if (games < minimumGames) return `${games} of at least ${minimumGames} games graded`;
  if (opportunities < minimumOpportunities) {
    return `${opportunities} of at least ${minimumOpportunities} opportunities`;
  }
  return null;
}
