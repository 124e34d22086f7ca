import type { Session } from '../accounts/session.ts';
import type { Queryable } from '../database/transaction.ts';
import { filmAddress } from '../games/film-address.ts';

/** Of these games, those of which the person may watch film on a page of ours, in one of their roles. */
export async function watchableGames(
  db: Queryable,
  { conferenceId, personId, roles }: Session,
  gameIds: Iterable<string>,
): Promise<ReadonlySet<string>> {
  const asked = [...new Set(gameIds)];
  if (asked.length === 0) return new Set();
  const { rows } = await db.query<{ id: string }>(
    `SELECT DISTINCT f.game_id AS id FROM film f
      CROSS JOIN (SELECT coalesce((SELECT viewers FROM film_setting WHERE conference_id = $1), 'observers') AS viewers) v
      WHERE f.conference_id = $1 AND f.state = 'ready' AND f.game_id = ANY ($2::uuid[])
        AND ($4
          OR $5 AND v.viewers <> 'coordinators' AND EXISTS (
               SELECT FROM observer_assignment a
                WHERE a.conference_id = $1 AND a.game_id = f.game_id AND a.observer_id = $3 AND a.answer <> 'declined')
          OR $6 AND v.viewers = 'officials' AND EXISTS (
               SELECT FROM working_crew_member m WHERE m.conference_id = $1 AND m.game_id = f.game_id AND m.person_id = $3)
             AND EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.game_id = f.game_id AND r.state = 'released'))`,
    [
      ...[conferenceId, asked, personId],
      ...[roles.has('coordinator'), roles.has('observer'), roles.has('official')],
    ],
  );
  return new Set(rows.map(({ id }) => id));
}

interface OnFilm {
  readonly gameId: string;
  readonly playId: string;
  readonly filmLink: string | null;
  readonly filmSeconds: number | null;
}

/** Where the play can be watched: on our own page, else wherever the game's film link leads; null: nowhere. */
export const watchAddress = (
  watchable: ReadonlySet<string>,
  { gameId, playId, filmLink, filmSeconds }: OnFilm,
): string | null =>
  watchable.has(gameId) ? `/games/${gameId}/plays/${playId}/film` : filmAddress(filmLink, filmSeconds);
