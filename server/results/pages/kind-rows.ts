import { type ByKind, type GradeKind, gradeKinds } from '../../grading/grade-kinds.ts';
import type { KindOfGrade } from '../standings/explained-grade.ts';
import { gradeRange } from './rank-words.ts';

const names: Readonly<ByKind<string>> = { whole: 'Whole', calls: 'Calls', mechanics: 'Mechanics' };

/** An official's three grades as lines of a table: the whole, calls, mechanics. */
export function kindRows(kinds: ByKind<KindOfGrade>) {
  return gradeKinds.map((kind: GradeKind) => {
    const { raw, adjusted, opportunities, misses, reason } = kinds[kind];
    return {
      name: names[kind],
      raw,
      adjusted: adjusted?.grade ?? null,
      interval: gradeRange(adjusted),
      opportunities,
      misses,
      reason,
    };
  });
}
