import type { Told } from './quiz-results.ts';

/** A season grade of 0 to 100 with the interval that holds nine times in ten; without one where that is not known. */
interface GradeWithRange {
  readonly grade: number;
  readonly low: number | null;
  readonly high: number | null;
}
/** Questions right in the sittings that count, over a season's quizzes. */
export interface QuizShare {
  readonly right: number;
  readonly asked: number;
  /** What tells the official's share: other answers where the best of several sittings counts. */
  readonly told: Told;
}

export interface SeasonFigure {
  readonly value: number;
  /** Null where the grade's own range is not known. */
  readonly low: number | null;
  readonly high: number | null;
}

/** Standard errors in half of a 90 % interval. */
const ninety = 1.6449;

/**
 * The season grade and the percentage of questions right, by the announced weight. The two are taken as independent, and
 * questions as drawn from many of their kind, so that the range holds both uncertainties. Where the best of several sittings
 * counts, the figure is above what an official's answers tell in all; the range is of these, and reaches to the figure.
 *
 * @param percent what quizzes count, 1 to 50
 * @returns null where no quiz was taken
 */
export function seasonFigure(
  { grade, low, high }: GradeWithRange,
  { right, asked, told }: QuizShare,
  percent: number,
): SeasonFigure | null {
  if (asked === 0) return null;
  const weight = percent / 100;
  const valueAt = (of: Pick<QuizShare, 'right' | 'asked'>) =>
    (1 - weight) * grade + weight * ((100 * of.right) / of.asked);
  const value = valueAt({ right, asked });
  if (low === null || high === null) return { value, low: null, high: null };
  // Of none or all right the plain error would be 0: half a question is added on either side (Agresti and Coull 1998 add
  // more; a half as Jeffreys' prior has it).
  const share = (told.right + 0.5) / (told.asked + 1);
  const quizError = 100 * Math.sqrt((share * (1 - share)) / told.asked);
  const gradeError = (high - low) / (2 * ninety);
  const half = ninety * Math.hypot((1 - weight) * gradeError, weight * quizError);
  const middle = valueAt(told);
  return {
    value,
    low: Math.max(0, Math.min(value, middle - half)),
    high: Math.min(100, Math.max(value, middle + half)),
  };
}
