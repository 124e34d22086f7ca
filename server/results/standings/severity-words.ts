import type { Leaning, Severity } from '../../grading/severity.ts';

/** Which way an observer's marks lean, said only as far as the interval allows. */
export function severityWords({ effect, low, high }: Leaning): string {
  if (effect === null) return 'not known yet';
  if (high < 0) return 'stricter than the others';
  if (low > 0) return 'more lenient than the others';
  return 'not told apart from the others';
}

/** The same of all that an observer marked: where nobody else graded any of it, there are no others. */
export function observerSeverityWords(row: Severity): string {
  const alone = row.effect !== null && row.positions.every(({ others }) => others === 0);
  return alone ? 'nobody else saw these positions' : severityWords(row);
}
