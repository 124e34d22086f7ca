import path from 'node:path';
import type { Config } from '../config.ts';
import type { Queryable } from '../database/transaction.ts';

/**
 * What a backup does not hold: films, and beside them narrations that people spoke, which lie in a folder of their own.
 * @returns a sentence, or null without any
 */
export async function filmsBeside(
  db: Queryable,
  { FILM_STORE, DATA_DIR }: Pick<Config, 'FILM_STORE' | 'DATA_DIR'>,
): Promise<string | null> {
  const { rows } = await db.query<{ films: number; gigabytes: number }>(
    `SELECT count(*)::int AS films,
            coalesce(sum(CASE WHEN made_bytes > 0 THEN made_bytes ELSE bytes END), 0)::float8 / 1e9 AS gigabytes
       FROM film WHERE state <> 'refused' AND (source = 'upload' OR made_bytes > 0)`,
  );
  const { films, gigabytes } = rows[0]!;
  const spoken = await db.query<{ recordings: number; gigabytes: number }>(
    'SELECT count(*)::int AS recordings, coalesce(sum(bytes), 0)::float8 / 1e9 AS gigabytes FROM narration',
  );
  const { recordings, gigabytes: ofThem } = spoken.rows[0]!;
  if (films === 0 && recordings === 0) return null;
  const folder = path.resolve(FILM_STORE ?? path.join(DATA_DIR, 'films'));
  const counted = [
    ...(films > 0 ? [films === 1 ? '1 film' : `${films} films`] : []),
    ...(recordings > 0
      ? [recordings === 1 ? '1 recorded narration' : `${recordings} recorded narrations`]
      : []),
  ];
  const lie = films + recordings === 1 ? 'lies' : 'lie';
  return `${films > 0 ? 'Films are' : 'Recorded narration is'} not in it: ${counted.join(' and ')} ${lie} in ${folder} (${(gigabytes + ofThem).toFixed(1)} GB); copy that folder too if they are to be kept.`;
}
