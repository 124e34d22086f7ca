import type { Queryable } from '../database/transaction.ts';
import type { Film } from './film-store.ts';

/** A program with plays that are shown from a film. */
interface ProgramOnFilm {
  readonly id: string;
  readonly title: string;
  /** Places in the program of the plays that were cut from it by hand. */
  readonly clips: number[];
  /** Places of plays of the game that nobody cut yet: they are shown from whatever film of it there is. */
  readonly uncut: number[];
  /** Editions that were released with a clip of it. */
  readonly editions: number[];
  /** How many of its finished reels show it. */
  readonly reels: number;
}

/** What goes with a film, to be shown before it is removed. */
interface FilmDependents {
  /** Plays marked in it, by number. */
  readonly plays: number[];
  /** Plays of the game that would have no film left to be watched on. */
  readonly isOnlyOne: boolean;
  /** How many plays the game's log has. */
  readonly logged: number;
  readonly programs: ProgramOnFilm[];
}

export async function dependentsOf(db: Queryable, conferenceId: string, film: Film): Promise<FilmDependents> {
  const { rows } = await db.query<Omit<FilmDependents, 'programs'>>(
    `SELECT coalesce((SELECT array_agg(p.number ORDER BY p.number) FROM film_mark m
                        JOIN play p ON p.conference_id = m.conference_id AND p.id = m.play_id AND p.removed_at IS NULL
                       WHERE m.conference_id = $1 AND m.film_id = $2), '{}') AS plays,
            NOT EXISTS (SELECT FROM film o WHERE o.conference_id = $1 AND o.game_id = $3 AND o.id <> $2
                           AND o.state = 'ready') AS "isOnlyOne",
            (SELECT count(*)::int FROM play WHERE conference_id = $1 AND game_id = $3 AND removed_at IS NULL) AS logged`,
    [conferenceId, film.id, film.gameId],
  );
  return { ...rows[0]!, programs: await programsOn(db, conferenceId, film) };
}

const shows = (json: string) =>
  `jsonb_path_exists(${json}, '$.**.filmId ? (@ == $film)', jsonb_build_object('film', $2::text))`;

async function programsOn(db: Queryable, conferenceId: string, film: Film): Promise<ProgramOnFilm[]> {
  // What can only be linked to is never cut.
  if (film.source === 'link') return [];
  const { rows } = await db.query<ProgramOnFilm>(
    `WITH placed AS (
       SELECT t.program_id, t.place, c.cut, p.game_id,
              row_number() OVER (PARTITION BY t.program_id ORDER BY t.place)::int AS number
         FROM training_play t
         JOIN play p ON p.conference_id = $1 AND p.id = t.play_id
         LEFT JOIN training_cut c ON c.conference_id = $1 AND c.program_id = t.program_id AND c.play_id = t.play_id
        WHERE t.conference_id = $1),
     of_program AS (
       SELECT g.id, g.title,
              coalesce((SELECT array_agg(o.number ORDER BY o.number) FROM placed o
                         WHERE o.program_id = g.id AND ${shows('o.cut')}), '{}') AS clips,
              coalesce((SELECT array_agg(o.number ORDER BY o.number) FROM placed o
                         WHERE o.program_id = g.id AND o.cut IS NULL AND o.game_id = $3), '{}') AS uncut,
              coalesce((SELECT array_agg(e.number ORDER BY e.number) FROM training_edition e
                         WHERE e.conference_id = $1 AND e.program_id = g.id AND ${shows('e.cuts')}), '{}') AS editions,
              (SELECT count(*)::int FROM reel r WHERE r.conference_id = $1 AND r.program_id = g.id
                  AND r.state = 'ready' AND ${shows('r.plan')}) AS reels
         FROM training_program g WHERE g.conference_id = $1)
     SELECT * FROM of_program
      WHERE clips <> '{}' OR uncut <> '{}' OR editions <> '{}' OR reels > 0 ORDER BY title, id`,
    [conferenceId, film.id, film.gameId],
  );
  return rows;
}
