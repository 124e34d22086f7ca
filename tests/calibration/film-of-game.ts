import type pg from 'pg';
import type { OneGame } from '../reports/one-game.ts';

/** A film of a game that is ready, with its plays half a second apart. @returns its id, under which the store keeps its file */
export async function filmOfGame(pool: pg.Pool, game: OneGame, seconds = 6): Promise<string> {
  const facts = {
    ...{ seconds, width: 320, height: 180, rate: 29.97, variable: false, rotated: 0 },
    ...{ sound: true, picture: 'h264', form: 'mp4' },
  };
  const { rows } = await pool.query<{ id: string }>(
    `INSERT INTO film (conference_id, game_id, angle, source, file_name, state, bytes, facts, made_by)
     VALUES ($1, $2, 'Sideline', 'upload', 'week 1.mp4', 'ready', 7, $3, $4) RETURNING id`,
    [game.conferenceId, game.gameId, JSON.stringify(facts), game.coordinatorId],
  );
  const { id } = rows[0]!;
  await pool.query(
    `INSERT INTO film_mark (conference_id, film_id, play_id, seconds, made_by)
     SELECT $1, $3, id, number * 0.5, $4 FROM play WHERE conference_id = $1 AND game_id = $2`,
    [game.conferenceId, game.gameId, id, game.coordinatorId],
  );
  return id;
}
