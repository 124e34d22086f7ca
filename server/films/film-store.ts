import pg from 'pg';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { invalid, notFound, Problem } from '../web/problem.ts';
import type { FilmFacts } from './film-facts.ts';
import { readFilmSetting } from './film-setting.ts';

export const filmStates = ['arriving', 'waiting', 'ready', 'refused'] as const;
export const filmSources = ['upload', 'folder', 'link'] as const;

/** A film of a game from one angle. */
export interface Film {
  readonly id: string;
  readonly gameId: string;
  readonly angle: string;
  readonly source: (typeof filmSources)[number];
  /** A link's address, or the name of a file in the server's folder. */
  readonly place: string | null;
  readonly fileName: string;
  readonly state: (typeof filmStates)[number];
  /** Of its file as it came. */
  readonly bytes: number;
  /** What it takes of the conference's space. */
  readonly kept: number;
  /** It is served as it was made for browsers, not as it came. */
  readonly isMade: boolean;
  readonly facts: FilmFacts | null;
  readonly refused: string | null;
  readonly trouble: string | null;
  /** Of looking at it, 0 to 1. */
  readonly progress: number;
  readonly madeBy: string;
  readonly madeAt: Date;
  /** How many plays are marked in it. */
  readonly marks: number;
}

const kept = `CASE WHEN f.made_bytes > 0 THEN f.made_bytes WHEN f.source = 'upload' AND f.state <> 'refused' THEN f.bytes ELSE 0 END`;
const columns = `f.id, f.game_id AS "gameId", f.angle, f.source, f.place, f.file_name AS "fileName", f.state,
  f.bytes::float8 AS bytes, (${kept})::float8 AS kept, f.made_bytes > 0 AS "isMade", f.facts, f.refused, f.trouble,
  f.progress, p.given_name || ' ' || p.family_name AS "madeBy", f.made_at AS "madeAt",
  (SELECT count(*)::int FROM film_mark m WHERE m.conference_id = f.conference_id AND m.film_id = f.id) AS marks`;
const from = `film f JOIN person p ON p.conference_id = f.conference_id AND p.id = f.made_by`;

/** A game's films, in the order in which they were added. */
export async function listFilms(db: Queryable, conferenceId: string, gameId: string): Promise<Film[]> {
  const { rows } = await db.query<Film>(
    `SELECT ${columns} FROM ${from} WHERE f.conference_id = $1 AND f.game_id = $2 ORDER BY f.made_at, f.id`,
    [conferenceId, gameId],
  );
  return rows;
}

/** @throws Problem 404 when the game has no such film. */
export async function findFilm(
  db: Queryable,
  conferenceId: string,
  gameId: string,
  filmId: string,
): Promise<Film> {
  const { rows } = await db.query<Film>(
    `SELECT ${columns} FROM ${from} WHERE f.conference_id = $1 AND f.game_id = $2 AND f.id = $3`,
    [conferenceId, gameId, filmId],
  );
  if (!rows[0]) throw notFound('film');
  return rows[0];
}

/** Bytes that a conference's films and recordings take of its space; of uploads that are arriving, all that they will. */
export async function spaceTaken(db: Queryable, conferenceId: string): Promise<number> {
  const { rows } = await db.query<{ taken: number }>(
    `SELECT coalesce(sum(${kept}), 0)::float8
            + (SELECT coalesce(sum(n.bytes), 0)::float8 FROM narration n WHERE n.conference_id = $1) AS taken
       FROM film f WHERE f.conference_id = $1`,
    [conferenceId],
  );
  return rows[0]!.taken;
}

interface NewFilm {
  readonly angle: string;
  readonly source: Film['source'];
  readonly place: string | null;
  readonly fileName: string;
  readonly bytes: number;
}

const inMegabytes = (bytes: number) => `${Math.ceil(bytes / 1e6).toLocaleString('en-US')} MB`;

/** Which games have film, and how much room it takes on the server; the largest first. */
export async function filmsByGame(db: Queryable, conferenceId: string) {
  const { rows } = await db.query<{ id: string; title: string; week: number; films: number; bytes: number }>(
    `SELECT g.id, t.title, g.week, count(*)::int AS films,
          sum(CASE WHEN f.made_bytes > 0 THEN f.made_bytes WHEN f.source = 'upload' AND f.state <> 'refused' THEN f.bytes ELSE 0 END)::float8 AS bytes
     FROM film f JOIN game g ON g.conference_id = f.conference_id AND g.id = f.game_id
     JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
    WHERE f.conference_id = $1 GROUP BY g.id, t.title, g.week, g.kickoff ORDER BY bytes DESC, g.kickoff LIMIT 200`,
    [conferenceId],
  );
  return rows;
}

/**
 * Adds a film; an upload then arrives, a link can be watched at once, all others are looked at first.
 * @throws Problem 404 without such a game, 400 where the angle is taken, 413 where it is too large or there is no room
 */
export async function addFilm(
  pool: pg.Pool,
  actor: PersonActing,
  gameId: string,
  film: NewFilm,
): Promise<Film> {
  const { conferenceId, personId } = actor;
  const { angle, source, place, fileName, bytes } = film;
  try {
    return await inTransaction(pool, async (client) => {
      // One after the other, so that two films cannot take the same room.
      await client.query('SELECT FROM conference WHERE id = $1 FOR NO KEY UPDATE', [conferenceId]);
      if (source === 'upload') await requireRoom(client, conferenceId, bytes);
      const state = { upload: 'arriving', folder: 'waiting', link: 'ready' }[source];
      const { rows } = await client.query<{ id: string }>(
        `INSERT INTO film (conference_id, game_id, angle, source, place, file_name, state, bytes, made_by)
         SELECT $1, id, $3, $4, $5, $6, $7, $8, $9 FROM game WHERE conference_id = $1 AND id = $2 RETURNING id`,
        [conferenceId, gameId, angle, source, place, fileName, state, bytes, personId],
      );
      if (!rows[0]) throw notFound('game');
      await appendAudit(client, {
        ...{
          conferenceId,
          actorId: personId,
          action: 'added a film',
          subjectKind: 'film',
          subjectId: rows[0].id,
        },
        after: { gameId, angle, source },
      });
      return findFilm(client, conferenceId, gameId, rows[0].id);
    });
  } catch (error) {
    throw taken(error) ?? error;
  }
}

const taken = (error: unknown) =>
  error instanceof pg.DatabaseError && error.constraint === 'film_angle'
    ? invalid([{ field: 'angle', message: 'The game has a film of this name; give this one another.' }])
    : undefined;

async function requireRoom(client: Queryable, conferenceId: string, bytes: number): Promise<void> {
  const { largest, space } = await readFilmSetting(client, conferenceId);
  const refuse = (detail: string) => new Problem(413, 'Too large', detail);
  if (bytes > largest * 1e6) {
    throw refuse(
      `The film has ${inMegabytes(bytes)}, and one may have ${inMegabytes(largest * 1e6)} here. Export it smaller, or let a coordinator raise the limit (Settings, Film).`,
    );
  }
  const left = space * 1e6 - (await spaceTaken(client, conferenceId));
  if (bytes > left) {
    throw refuse(
      `The film has ${inMegabytes(bytes)}, and of the conference’s ${inMegabytes(space * 1e6)} for films ${inMegabytes(Math.max(0, left))} are left. Remove films that are no longer needed, or raise the limit (Settings, Film).`,
    );
  }
}

/** All of an upload is here: it waits to be looked at. Nothing happens when it did before. */
export async function noteArrived(db: Queryable, conferenceId: string, filmId: string): Promise<void> {
  await db.query(
    `UPDATE film SET state = 'waiting' WHERE conference_id = $1 AND id = $2 AND state = 'arriving'`,
    [conferenceId, filmId],
  );
}

/** Gives the angle another name. @throws Problem 404, or 400 where the name is taken */
export async function renameFilm(
  pool: pg.Pool,
  actor: PersonActing,
  gameId: string,
  filmId: string,
  angle: string,
): Promise<Film> {
  const { conferenceId, personId } = actor;
  try {
    return await inTransaction(pool, async (client) => {
      const before = await findFilm(client, conferenceId, gameId, filmId);
      if (before.angle !== angle) {
        await client.query('UPDATE film SET angle = $3 WHERE conference_id = $1 AND id = $2', [
          ...[conferenceId, filmId, angle],
        ]);
        await appendAudit(client, {
          ...{
            conferenceId,
            actorId: personId,
            action: 'named a film',
            subjectKind: 'film',
            subjectId: filmId,
          },
          ...{ before: { angle: before.angle }, after: { angle } },
        });
      }
      return findFilm(client, conferenceId, gameId, filmId);
    });
  } catch (error) {
    throw taken(error) ?? error;
  }
}

/** What the trail's entry of it says. */
export const removedFilm = 'removed a film';

/** Removes a film with its marks; the caller then removes its files. @throws Problem 404 */
export function removeFilm(
  pool: pg.Pool,
  actor: PersonActing,
  gameId: string,
  filmId: string,
): Promise<Film> {
  const { conferenceId, personId } = actor;
  return inTransaction(pool, async (client) => {
    await client.query('SELECT FROM film WHERE conference_id = $1 AND id = $2 FOR UPDATE', [
      conferenceId,
      filmId,
    ]);
    const film = await findFilm(client, conferenceId, gameId, filmId);
    await client.query('DELETE FROM film WHERE conference_id = $1 AND id = $2', [conferenceId, filmId]);
    await appendAudit(client, {
      ...{
        conferenceId,
        actorId: personId,
        action: removedFilm,
        subjectKind: 'film',
        subjectId: filmId,
      },
      before: { gameId, angle: film.angle, source: film.source, marks: film.marks },
    });
    return film;
  });
}
