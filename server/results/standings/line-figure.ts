import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { type QuizShare, type SeasonFigure, seasonFigure } from '../../knowledge/season-figure.ts';
import type { StandingLine } from './season-standings.ts';

/** The figure of a line of the standings in which quizzes count by the announced weight; null without a grade or a quiz. */
export function lineFigure(
  { adjusted, raw }: Pick<StandingLine, 'adjusted' | 'raw'>,
  share: QuizShare | undefined,
  percent: number,
): SeasonFigure | null {
  const grade = adjusted?.grade ?? raw;
  if (grade === null || share === undefined) return null;
  const sure = adjusted !== null && !errorUnknown(adjusted);
  return seasonFigure(
    { grade, low: sure ? adjusted.low : null, high: sure ? adjusted.high : null },
    share,
    percent,
  );
}
