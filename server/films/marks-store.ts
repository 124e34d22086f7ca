import type pg from 'pg';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import type { PlayColumns } from '../games/play-rows.ts';
import { notFound } from '../web/problem.ts';
import { findFilm } from './film-store.ts';
import { type Mark, type Placed, type PlayToPlace, placePlays } from './placing.ts';

/** Marks of a game's films, by film, in the order of the log. */
export async function readMarks(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<Map<string, Mark[]>> {
  const { rows } = await db.query<Mark & { filmId: string }>(
    `SELECT m.film_id AS "filmId", p.id AS "playId", p.number, m.seconds, p.film_seconds AS "logSeconds", p.quarter,
            p.clock_seconds AS clock
       FROM film_mark m
       JOIN film f ON f.conference_id = m.conference_id AND f.id = m.film_id
       JOIN play p ON p.conference_id = m.conference_id AND p.id = m.play_id
      WHERE m.conference_id = $1 AND f.game_id = $2 AND p.removed_at IS NULL ORDER BY p.number`,
    [conferenceId, gameId],
  );
  const marks = new Map<string, Mark[]>();
  for (const { filmId, ...mark } of rows) marks.set(filmId, [...(marks.get(filmId) ?? []), mark]);
  return marks;
}

/**
 * Where each play of the game's log is in its films: by film, then by play. Of which nothing can be said is left out.
 * @param filmIds of the game
 */
export async function placesInFilms(
  db: Queryable,
  conferenceId: string,
  gameId: string,
  filmIds: readonly string[],
): Promise<Map<string, Map<string, Placed>>> {
  if (filmIds.length === 0) return new Map();
  const marks = await readMarks(db, conferenceId, gameId);
  const { rows } = await db.query<PlayToPlace>(
    `SELECT id AS "playId", number, film_seconds AS "logSeconds" FROM play
      WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number`,
    [conferenceId, gameId],
  );
  return new Map(filmIds.map((filmId) => [filmId, placePlays(marks.get(filmId) ?? [], rows)]));
}

/** Where each play of the game's log is in one of its films, by play. */
export const placesInFilm = async (db: Queryable, conferenceId: string, gameId: string, filmId: string) =>
  (await placesInFilms(db, conferenceId, gameId, [filmId])).get(filmId)!;

/** The plays of a game's log in order, each with its facts, to be placed in films and told in words. */
export async function playsToWatch(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<(PlayToPlace & PlayColumns)[]> {
  const { rows } = await db.query<PlayToPlace & PlayColumns>(
    `SELECT id AS "playId", number, film_seconds AS "logSeconds", kind, spot, quarter, clock_seconds, down, distance,
            facts FROM play
      WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number`,
    [conferenceId, gameId],
  );
  return rows;
}

interface PlayInFilm {
  readonly gameId: string;
  readonly filmId: string;
  readonly playId: string;
}

/** Marks where a play's snap is in a film, or takes the mark away (null). @throws Problem 404 */
export function markPlay(
  pool: pg.Pool,
  actor: PersonActing,
  { gameId, filmId, playId }: PlayInFilm,
  seconds: number | null,
): Promise<void> {
  const { conferenceId, personId } = actor;
  return inTransaction(pool, async (client) => {
    await findFilm(client, conferenceId, gameId, filmId);
    const { rows } = await client.query<{ number: number; before: number | null }>(
      `SELECT p.number, (SELECT seconds FROM film_mark m
                          WHERE m.conference_id = $1 AND m.film_id = $3 AND m.play_id = p.id) AS before
         FROM play p WHERE p.conference_id = $1 AND p.game_id = $2 AND p.id = $4 AND p.removed_at IS NULL
          FOR NO KEY UPDATE`,
      [conferenceId, gameId, filmId, playId],
    );
    if (!rows[0]) throw notFound('play');
    const { number, before } = rows[0];
    if (before === seconds) return;
    if (seconds === null) {
      await client.query('DELETE FROM film_mark WHERE conference_id = $1 AND film_id = $2 AND play_id = $3', [
        ...[conferenceId, filmId, playId],
      ]);
    } else {
      await client.query(
        `INSERT INTO film_mark (conference_id, film_id, play_id, seconds, made_by) VALUES ($1, $2, $3, $4, $5)
         ON CONFLICT (conference_id, film_id, play_id)
         DO UPDATE SET seconds = excluded.seconds, made_by = excluded.made_by, made_at = now()`,
        [conferenceId, filmId, playId, seconds, personId],
      );
    }
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'marked a play in a film' },
      ...{ subjectKind: 'film', subjectId: filmId },
      ...{ before: { play: number, seconds: before }, after: { play: number, seconds } },
    });
  });
}
