import type { Position } from '../football/positions.ts';
import { rawStandings } from './raw-standings.ts';
import type { SeasonCount } from './season-counts.ts';

/** One official's place before and after, in one position. Grades are 0 to 100; ranks count from 1. */
export interface MovedStanding {
  readonly personId: string;
  readonly position: Position;
  readonly gradeNow: number | null;
  readonly gradeThen: number | null;
  readonly rankNow: number | null;
  readonly rankThen: number | null;
}

/**
 * What the standings would be if every released report of the season were graded with another weight for one duty
 * (0 leaves the duty out). Nothing is changed: filed reports keep the weights that they were filed with. Season
 * grades before any adjustment, ranked within the position among those with enough
 * games and opportunities; equal grades share a rank.
 */
export function standingsWithWeight(
  counts: readonly SeasonCount[],
  dutyKey: string,
  weight: number,
  toBeRanked: { readonly minimumGames: number; readonly minimumOpportunities: number },
): MovedStanding[] {
  const now = ranked(counts, toBeRanked);
  const changed = counts.map((row) => (row.dutyKey === dutyKey ? { ...row, weight } : row));
  const then = ranked(
    changed.filter((row) => row.weight > 0),
    toBeRanked,
  );
  return [...now].map(([key, { personId, position, grade, rank }]) => {
    const after = then.get(key);
    return {
      personId,
      position,
      gradeNow: grade,
      gradeThen: after?.grade ?? null,
      rankNow: rank,
      rankThen: after?.rank ?? null,
    };
  });
}

interface Placed {
  readonly personId: string;
  readonly position: Position;
  readonly grade: number | null;
  readonly rank: number | null;
}

function ranked(
  counts: readonly SeasonCount[],
  { minimumGames, minimumOpportunities }: Parameters<typeof standingsWithWeight>[3],
): Map<string, Placed> {
  const standings = rawStandings(counts);
  const isRanked = (row: (typeof standings)[number]) =>
    row.grade.grade !== null && row.games >= minimumGames && row.opportunities >= minimumOpportunities;
  const rankable = standings.filter(isRanked);
  return new Map(
    standings.map((row) => {
      const { personId, position, grade } = row;
      const better = rankable.filter(
        (other) => other.position === position && other.grade.grade! > (grade.grade ?? -1),
      );
      const rank = isRanked(row) ? better.length + 1 : null;
      return [`${personId} ${position}`, { personId, position, grade: grade.grade, rank }];
    }),
  );
}
