import { type GradeOptions, gradeOf, type PlainGrade, type WeightedCount } from './game-grade.ts';

/** One official's counts from one game, in one position. */
interface GameCounts {
  game: string;
  rows: readonly WeightedCount[];
  /** What the minimums are held against; left out, `rows`. */
  eligibleBy?: readonly WeightedCount[];
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
  const watched = games.map(({ game, rows, eligibleBy = rows }) => ({ game, rows: eligibleBy }));
  const opportunities = watched.flatMap((game) => game.rows).reduce((sum, row) => sum + row.opportunities, 0);
  return {
    pooled,
    games: gamesOf(games),
    opportunities: pooled.opportunities,
    unrankedReason:
      pooled.grade === null
        ? `no grade: ${pooled.reason}`
        : reasonBelow(eligibility, gamesOf(watched), opportunities),
  };
}

/** Different games with an opportunity. */
function gamesOf(games: readonly GameCounts[]): number {
  const counted = games.filter(({ rows }) => rows.some((row) => row.opportunities > 0));
  return new Set(counted.map(({ game }) => game)).size;
}

/** Which of the coordinator's minimums is not reached, in words; null when both are. */
function reasonBelow(eligibility: Eligibility, games: number, opportunities: number): string | null {
  const { minimumGames, minimumOpportunities } = eligibility;
  if (games < minimumGames) return `${games} of at least ${minimumGames} games graded`;
  if (opportunities < minimumOpportunities) {
    return `${opportunities} of at least ${minimumOpportunities} opportunities`;
  }
  return null;
}
