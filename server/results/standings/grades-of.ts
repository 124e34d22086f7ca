import { type Grade, gradeGame } from '../../grading/game-grade.ts';
import { type ByKind, byKind, countsIn, type GradeKind, nothingCounted } from '../../grading/grade-kinds.ts';
import { dutyCountOf } from './duty-count.ts';
import type { SeasonCount } from './season-counts.ts';

/** The grade of one kind of these counts, or why there is none. */
function gradeOfKind(rows: readonly SeasonCount[], kind: GradeKind): Grade {
  const grade = gradeGame(rows.filter((row) => countsIn(kind, row.gradedAs)).map(dutyCountOf));
  return grade.grade === null && grade.opportunities === 0
    ? { ...grade, reason: nothingCounted[kind] }
    : grade;
}

/** The grade of the whole, of the calls and of the mechanics of these counts, each with its reason where it is none. */
export const gradesOf = (rows: readonly SeasonCount[]): ByKind<Grade> =>
  byKind((kind) => gradeOfKind(rows, kind));
