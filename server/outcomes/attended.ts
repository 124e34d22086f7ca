import type { Queryable } from '../database/transaction.ts';
import { shown } from '../patterns/follow-up/follow-up.ts';
import type { DatedCount } from '../patterns/follow-up/looks.ts';
import { attendedOf } from '../watching/stores/viewer-store.ts';
import type { Teaching } from './taught-duties.ts';

type Side = ReturnType<typeof shown>;

/** Misses of one duty before and after, of those who watched all of a program and of those who did not. */
export interface ByAttendance {
  readonly watched: { readonly officials: number; readonly before: Side; readonly after: Side };
  readonly others: { readonly officials: number; readonly before: Side; readonly after: Side };
}

/** With fewer people, or chances, on any side a figure would tell of single officials, or of nothing. */
const fewest = { officials: 5, opportunities: 20 };

/** Who of a program's audience has done all that it asks, or was at a session of it, and who has not. */
export async function readAttendance(
  db: Queryable,
  conferenceId: string,
  programId: string,
): Promise<ReadonlyMap<string, boolean>> {
  const { rows } = await db.query<{ personId: string; done: boolean }>(
    `SELECT v.person_id AS "personId", bool_or(v.done_at IS NOT NULL OR ${attendedOf} IS NOT NULL) AS done
       FROM training_viewer v WHERE v.conference_id = $1 AND v.program_id = $2 GROUP BY v.person_id`,
    [conferenceId, programId],
  );
  return new Map(rows.map(({ personId, done }) => [personId, done]));
}

/** @returns null where a group is too small to be told without telling of single officials */
export function byAttendance(
  rows: readonly DatedCount[],
  attendance: ReadonlyMap<string, boolean>,
  { until, from }: Teaching,
): ByAttendance | null {
  const group = (done: boolean) => {
    const theirs = rows.filter(({ official }) => attendance.get(official) === done);
    return {
      officials: new Set(theirs.map(({ official }) => official)).size,
      before: shown(theirs.filter(({ day }) => day <= until)),
      after: shown(theirs.filter(({ day }) => day > from)),
    };
  };
  const [watched, others] = [group(true), group(false)];
  const enough = [watched, others].every(
    ({ officials, before, after }) =>
      officials >= fewest.officials &&
      Math.min(before.opportunities, after.opportunities) >= fewest.opportunities,
  );
  return enough ? { watched, others } : null;
}
