import type { Queryable } from '../database/transaction.ts';
import type { FilmFiles } from './film-files.ts';
import { noteArrived, removedFilm } from './film-store.ts';

/** For so many days an upload that was broken off can be gone on with. */
export const daysToArrive = 7;

/** Removes uploads that nobody went on with. */
export async function dropStaleUploads(db: Queryable, files: FilmFiles): Promise<void> {
  const { rows } = await db.query<{ conferenceId: string; id: string }>(
    `DELETE FROM film WHERE state = 'arriving' AND made_at < now() - make_interval(days => $1)
      RETURNING conference_id AS "conferenceId", id`,
    [daysToArrive],
  );
  for (const { conferenceId, id } of rows) await files.remove(conferenceId, id);
}

/**
 * Removes files of films that were removed, as a process that was killed between the two leaves them, and what was begun
 * and is in nobody's hands. A file of which the database knows nothing stays: it may have been restored from an earlier day.
 */
export async function sweepFiles(db: Queryable, files: FilmFiles): Promise<void> {
  const { rows: conferences } = await db.query<{ id: string }>('SELECT id FROM conference');
  for (const { id: conferenceId } of conferences) {
    const here = await files.ids(conferenceId);
    if (here.size === 0) continue;
    const { rows: removed } = await db.query<{ id: string }>(
      `SELECT DISTINCT e.subject_id AS id FROM audit_entry e
        WHERE e.conference_id = $1 AND e.action = '${removedFilm}' AND e.subject_id = ANY ($2)
          AND NOT EXISTS (SELECT FROM film f WHERE f.conference_id = $1 AND f.id::text = e.subject_id)`,
      [conferenceId, [...here]],
    );
    for (const { id } of removed) await files.remove(conferenceId, id);
    const { rows: held } = await db.query<{ holder: string }>(
      'SELECT in_hand_of AS holder FROM film WHERE conference_id = $1 AND in_hand_of IS NOT NULL',
      [conferenceId],
    );
    await files.sweepUnfinished(conferenceId, new Set(held.map(({ holder }) => holder)));
  }
}

/** Notes uploads of which all is here. */
export async function settleArrived(db: Queryable, files: FilmFiles): Promise<void> {
  const { rows } = await db.query<{ conferenceId: string; id: string; bytes: number }>(
    `SELECT conference_id AS "conferenceId", id, bytes::float8 AS bytes FROM film WHERE state = 'arriving'`,
  );
  for (const { conferenceId, id, bytes } of rows)
    if ((await files.arrived(conferenceId, id)) === bytes) await noteArrived(db, conferenceId, id);
}
