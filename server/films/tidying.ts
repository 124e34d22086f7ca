import type { Queryable } from '../database/transaction.ts';
import type { FilmFiles } from './film-files.ts';
import { noteArrived } from './film-store.ts';

/** For so many days an upload that was broken off can be gone on with. */
export const daysToArrive = 7;

/** Removes uploads that nobody went on with; their files go with the next sweep. */
export async function dropStaleUploads(db: Queryable): Promise<void> {
  await db.query(
    `DELETE FROM film WHERE state = 'arriving' AND made_at < now() - make_interval(days => $1)`,
    [daysToArrive],
  );
}

/** Of each conference, the films that may have files, with who has them in hand. */
export async function filmsOfFiles(db: Queryable): Promise<Map<string, Map<string, string | null>>> {
  const { rows } = await db.query<{ conferenceId: string; id: string | null; holder: string | null }>(
    `SELECT c.id AS "conferenceId", f.id, f.in_hand_of AS holder
       FROM conference c LEFT JOIN film f ON f.conference_id = c.id AND f.source <> 'link'`,
  );
  const films = new Map<string, Map<string, string | null>>();
  for (const { conferenceId, id, holder } of rows) {
    const own = films.get(conferenceId) ?? new Map<string, string | null>();
    if (id !== null) own.set(id, holder);
    films.set(conferenceId, own);
  }
  return films;
}

/** Notes uploads of which all is here. */
export async function settleArrived(db: Queryable, files: FilmFiles): Promise<void> {
  const { rows } = await db.query<{ conferenceId: string; id: string; bytes: number }>(
    `SELECT conference_id AS "conferenceId", id, bytes::float8 AS bytes FROM film WHERE state = 'arriving'`,
  );
  for (const { conferenceId, id, bytes } of rows)
    if ((await files.arrived(conferenceId, id)) === bytes) await noteArrived(db, conferenceId, id);
}
