import type { Queryable } from '../database/transaction.ts';
import type { Play } from '../football/play.ts';
import { columnsOf } from './play-rows.ts';

/** A play as it is put into a log, with the change that puts it there. */
export interface PlayForLog {
  readonly id: string;
  readonly playId: string;
  /** The play it comes after; null: the first. */
  readonly after: string | null;
  readonly play: Play;
  readonly filmSeconds: number | null;
  readonly note: string;
}

/** Once a report on the game has been filed, its log is the coordinator's to correct; `exceptReport` may go on. */
export async function playLogIsClosed(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  exceptReport: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `SELECT FROM report WHERE conference_id = $1 AND game_id = $2 AND id <> $3
        AND state IN ('filed', 'accepted', 'released') LIMIT 1`,
    [conferenceId, gameId, exceptReport],
  );
  return rowCount === 1;
}

/** Puts a new play just after `after`, or last when that play is not (or no longer) in the log. */
export async function insertPlay(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  change: PlayForLog,
): Promise<void> {
  const number = await makePlace(client, conferenceId, gameId, change.after);
  const columns = columnsOf(change.play);
  await client.query(
    `INSERT INTO play (conference_id, id, game_id, number, kind, spot, quarter, clock_seconds, down, distance, facts,
                       film_seconds, note, change_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)`,
    [
      conferenceId,
      change.playId,
      gameId,
      number,
      columns.kind,
      columns.spot,
      columns.quarter,
      columns.clock_seconds,
      columns.down,
      columns.distance,
      JSON.stringify(columns.facts),
      change.filmSeconds,
      change.note,
      change.id,
    ],
  );
  await moveRevision(client, conferenceId, gameId);
}

export async function updatePlay(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  change: PlayForLog,
  wasRemoved: boolean,
): Promise<void> {
  const place = wasRemoved ? await makePlace(client, conferenceId, gameId, change.after) : null;
  const columns = columnsOf(change.play);
  await client.query(
    `UPDATE play SET kind = $3, spot = $4, quarter = $5, clock_seconds = $6, down = $7, distance = $8, facts = $9,
            film_seconds = $10, note = $11, change_id = $12, version = version + 1, removed_at = NULL,
            number = COALESCE($13, number)
      WHERE conference_id = $1 AND id = $2`,
    [
      conferenceId,
      change.playId,
      columns.kind,
      columns.spot,
      columns.quarter,
      columns.clock_seconds,
      columns.down,
      columns.distance,
      JSON.stringify(columns.facts),
      change.filmSeconds,
      change.note,
      change.id,
      place,
    ],
  );
  await moveRevision(client, conferenceId, gameId);
}

/** Takes a play out of the log with its marks, and closes the gap in the numbers. Nothing is deleted. */
export async function removePlayRow(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  playId: string,
  changeId: string,
): Promise<void> {
  await client.query(
    `UPDATE observation SET removed_at = now(), change_id = $3, updated_at = now(), version = version + 1
      WHERE conference_id = $1 AND play_id = $2 AND removed_at IS NULL`,
    [conferenceId, playId, changeId],
  );
  const { rows } = await client.query<{ number: number }>(
    `UPDATE play SET removed_at = now(), change_id = $3, version = version + 1
      WHERE conference_id = $1 AND id = $2 RETURNING number`,
    [conferenceId, playId, changeId],
  );
  await shift(client, conferenceId, gameId, rows[0]!.number, -1);
  await moveRevision(client, conferenceId, gameId);
}

/** The game's row is the log's lock: whoever adds or removes plays of one game does it one after the other. */
export async function lockPlayLog(client: Queryable, conferenceId: string, gameId: string): Promise<void> {
  await client.query('SELECT FROM game WHERE conference_id = $1 AND id = $2 FOR NO KEY UPDATE', [
    conferenceId,
    gameId,
  ]);
}

/** The number just after `after` (null: the first), with the later plays moved up; last when it is not in the log. */
async function makePlace(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  after: string | null,
): Promise<number> {
  const { rows } = await client.query<{ last: number; after: number | null }>(
    `SELECT COALESCE(max(number), 0)::int AS last, max(number) FILTER (WHERE id = $3)::int AS after
       FROM play WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL`,
    [conferenceId, gameId, after],
  );
  const { last, after: before } = rows[0]!;
  const number = after === null ? 1 : (before ?? last) + 1;
  if (number <= last) await shift(client, conferenceId, gameId, number, 1);
  return number;
}

// In two steps by way of numbers far above any game's: the unique index is checked row by row.
async function shift(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  from: number,
  by: 1 | -1,
): Promise<void> {
  const away = 1_000_000;
  await client.query(
    `UPDATE play SET number = number + $4
      WHERE conference_id = $1 AND game_id = $2 AND number >= $3 AND removed_at IS NULL`,
    [conferenceId, gameId, from, away],
  );
  await client.query(
    `UPDATE play SET number = number - $3 + $4
      WHERE conference_id = $1 AND game_id = $2 AND number > $3 AND removed_at IS NULL`,
    [conferenceId, gameId, away, by],
  );
}

async function moveRevision(client: Queryable, conferenceId: string, gameId: string): Promise<void> {
  await client.query(
    'UPDATE game SET play_log_revision = play_log_revision + 1 WHERE conference_id = $1 AND id = $2',
    [conferenceId, gameId],
  );
}
