import { type GradeOptions, gradeOf, type WeightedCount } from './game-grade.ts';

/** One official's counts of one game, in one position. */
export interface CountedGame {
  official: string;
  position: string;
  game: string;
  counts: readonly WeightedCount[];
  /**
   * What the minimums to be ranked are held against; left out, `counts`. For a grade of calls it is all that was
   * watched, so that one setting holds for every kind of grade.
   */
  eligibleBy?: readonly WeightedCount[];
}

/** One report's counts for one official: a row of the season model. Two reports of a game are two rows. */
export interface GradedGame extends CountedGame {
  observer: string;
}

/** A row with a grade. */
export interface UsableRow extends Omit<GradedGame, 'counts' | 'eligibleBy'> {
  value: number;
  /** Σ weight × opportunities. */
  weight: number;
}

/** The rows that have a grade, with it. @throws RangeError as `gradeOf`. */
export function usableRows(rows: readonly GradedGame[], options: GradeOptions): UsableRow[] {
  return rows.flatMap(({ official, position, game, observer, counts }) => {
    const graded = gradeOf(counts, options);
    if (graded.grade === null) return [];
    return [{ official, position, game, observer, value: graded.grade, weight: graded.weight }];
  });
}
