import type { OfficialLines } from '../../knowledge/official-lines.ts';
import { seasonFigure } from '../../knowledge/season-figure.ts';

interface GradedPosition {
  readonly position: string;
  readonly value: number | null;
  readonly adjusted: {
    readonly grade: number;
    readonly low: number;
    readonly high: number;
    readonly unsure: boolean;
  } | null;
}

/** Quizzes and clinics as lines of their own on an official's page, and the figure in which quizzes count, if they do. */
export function rulesView(lines: OfficialLines, positions: readonly GradedPosition[]) {
  const { weight, share } = lines;
  return {
    ...lines,
    hasLines: lines.quizzes.length > 0 || lines.clinics.asked > 0 || weight !== null,
    measured: lines.quizzes.some(({ measure }) => measure !== null),
    sharePercent: share.asked > 0 ? share.right / share.asked : null,
    figures:
      weight === null
        ? []
        : positions.flatMap(({ position, value, adjusted }) => {
            const grade = adjusted?.grade ?? value;
            if (grade === null) return [];
            const range = adjusted && !adjusted.unsure ? adjusted : { low: null, high: null };
            const figure = seasonFigure({ grade, low: range.low, high: range.high }, share, weight.percent);
            return figure ? [{ position, grade, ...figure, hasRange: figure.low !== null }] : [];
          }),
  };
}
