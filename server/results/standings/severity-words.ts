import type { Leaning } from '../../grading/severity.ts';

/** Which way an observer's marks lean, said only as far as the interval allows. */
export function severityWords({ effect, low, high }: Leaning): string {
  if (effect === null) return 'not known yet';
  if (high < 0) return 'stricter than the others';
  if (low > 0) return 'more lenient than the others';
  return 'not told apart from the others';
}
