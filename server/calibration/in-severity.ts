import type { Season } from '../database/generated/client.ts';
import type { CalibrationSet } from './calibration.ts';

/** What a set's marks do where the season says how strict its observers are. */
type InSeverity = 'left out' | 'taken in' | 'closed too late';

/** A closed season stays as it was closed: what is marked afterwards is in none of its figures (`results/standings/clip-rows.ts`). */
export function inSeverity(
  { calibrationInSeverity, closedAt }: Pick<Season, 'calibrationInSeverity' | 'closedAt'>,
  set: Pick<CalibrationSet, 'closedAt'>,
): InSeverity {
  if (!calibrationInSeverity) return 'left out';
  const ended = set.closedAt === null ? Date.now() : Date.parse(set.closedAt);
  return closedAt !== null && ended > closedAt.getTime() ? 'closed too late' : 'taken in';
}
