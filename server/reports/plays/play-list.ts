import type { Queryable } from '../../database/transaction.ts';
import type { Play } from '../../football/play.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { notFound } from '../../web/problem.ts';

interface GameTitle {
  readonly id: string;
  readonly seasonId: string;
  readonly seasonName: string;
  readonly week: number;
  readonly title: string;
}

/** @throws Problem 404 when the conference has no such game. */
export async function readGameTitle(db: Queryable, conferenceId: string, gameId: string): Promise<GameTitle> {
  const { rows } = await db.query<GameTitle>(
    `SELECT g.id, g.season_id AS "seasonId", s.name AS "seasonName", g.week, teams.title
       FROM game g
       JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
      WHERE g.conference_id = $1 AND g.id = $2`,
    [conferenceId, gameId],
  );
  if (rows[0] === undefined) throw notFound('game');
  return rows[0];
}

interface ListedPlay {
  readonly id: string;
  readonly number: number;
  readonly play: Play;
  readonly note: string;
}

/** A game's play log in order. */
export async function readPlayList(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<ListedPlay[]> {
  const { rows } = await db.query<PlayColumns & { id: string; number: number; note: string }>(
    `SELECT id, number, note, kind, spot, quarter, clock_seconds, down, distance, facts FROM play
      WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number`,
    [conferenceId, gameId],
  );
  return rows.map((row) => ({ id: row.id, number: row.number, note: row.note, play: playOf(row) }));
}
