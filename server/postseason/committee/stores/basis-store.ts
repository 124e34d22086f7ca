import type pg from 'pg';
import type { Queryable } from '../../../database/transaction.ts';
import type { SeasonResults } from '../../../results/season-results.ts';
import type { Selection } from '../../selection.ts';
import { readMaterial } from '../../stores/material-store.ts';
import { type Basis, basisOf } from '../basis.ts';

/** The candidates that the committee was shown; null while the selection is prepared. */
export async function readBasis(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<Basis | null> {
  const { rows } = await db.query<{ basis: Basis | null }>(
    'SELECT basis FROM selection WHERE conference_id = $1 AND id = $2',
    [conferenceId, selectionId],
  );
  return rows[0]?.basis ?? null;
}

/** The candidates that decisions are held against: those that the committee was shown, or as they stand now. */
export async function basisNow(
  pool: pg.Pool,
  results: Pick<SeasonResults, 'waysOf'>,
  conferenceId: string,
  selection: Selection,
): Promise<{ basis: Basis; frozen: boolean }> {
  const kept = await readBasis(pool, conferenceId, selection.id);
  if (kept) return { basis: kept, frozen: true };
  const material = await readMaterial(pool, results, conferenceId, selection);
  return { basis: basisOf(selection, material, new Date()), frozen: false };
}
