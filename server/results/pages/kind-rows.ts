import { errorUnknown } from '../../grading/adjusted-grade.ts';
import { type ByKind, type GradeKind, gradeKinds } from '../../grading/grade-kinds.ts';
import { number } from '../../web/format.ts';
import type { KindOfGrade } from '../standings/explained-grade.ts';

const names: Readonly<ByKind<string>> = { whole: 'Whole', calls: 'Calls', mechanics: 'Mechanics' };

/** An official's three grades as lines of a table: the whole, calls, mechanics. */
export function kindRows(kinds: ByKind<KindOfGrade>) {
  return gradeKinds.map((kind: GradeKind) => {
    const { raw, adjusted, opportunities, misses, reason } = kinds[kind];
    return {
      name: names[kind],
      raw,
      adjusted: adjusted?.grade ?? null,
      interval:
        adjusted && !errorUnknown(adjusted)
          ? `${number(adjusted.low, 2)} to ${number(adjusted.high, 2)}`
          : '–',
      opportunities,
      misses,
      reason,
    };
  });
}
