import type { Database } from '../database/database.ts';
import type { Queryable } from '../database/transaction.ts';
import type { Play } from '../football/play.ts';
import { handedInStates } from '../schedule/open-states.ts';
import { columnsOf } from './play-rows.ts';

/** A play as it is put into a log, with the change that puts it there. */
interface PlayForLog {
  readonly id: string;
  readonly playId: string;
  /** The play it comes after; null: the first. */
  readonly after: string | null;
  readonly play: Play;
  readonly filmSeconds: number | null;
  readonly note: string;
}

/** The first play of a game's log; undefined while it has none. */
export async function firstPlayOf(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  gameId: string,
): Promise<string | undefined> {
  const first = await prisma.play.findFirst({
    where: { conferenceId, gameId, removedAt: null },
    orderBy: { number: 'asc' },
    select: { id: true },
  });
  return first?.id;
}

/** How many plays a game's log has. */
export const countLogged = (
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  gameId: string,
): Promise<number> => prisma.play.count({ where: { conferenceId, gameId, removedAt: null } });

/** Once a report on the game has been filed, its log is the coordinator's to correct; `exceptReport` may go on. */
export async function playLogIsClosed(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  exceptReport: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `SELECT FROM report WHERE conference_id = $1 AND game_id = $2 AND id <> $3
        AND state IN ${handedInStates} LIMIT 1`,
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

/** A play of a log as it is laid down: with an `id` the one that is there, else a new one. */
interface PlayToLay {
  readonly id?: string;
  readonly play: Play;
  readonly filmSeconds: number | null;
  readonly note: string;
  /** One that is there and stays as it is only gets its number. */
  readonly changed: boolean;
}

/**
 * Lays down a whole log in this order. Every play that is there must be among `plays`: none is removed, and marks stay
 * on theirs. The caller holds the log (`lockPlayLog`).
 */
export async function layLog(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  changeId: string,
  plays: readonly PlayToLay[],
): Promise<void> {
  // Out of the way first: the unique index on the numbers is checked row by row.
  await client.query(
    `UPDATE play SET number = number + $3 WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL`,
    [conferenceId, gameId, farAway],
  );
  const rows = plays.map(({ id, play, filmSeconds, note, changed }, at) => ({
    id: id ?? null,
    number: at + 1,
    changed,
    ...columnsOf(play),
    film_seconds: filmSeconds,
    note,
  }));
  const given = `jsonb_to_recordset($3::jsonb) AS t (id uuid, number int, changed boolean, kind text, spot int,
    quarter int, clock_seconds int, down int, distance int, facts jsonb, film_seconds double precision, note text)`;
  await client.query(
    `UPDATE play p SET number = t.number FROM ${given}
      WHERE p.conference_id = $1 AND p.game_id = $2 AND p.id = t.id AND NOT t.changed AND p.removed_at IS NULL`,
    [conferenceId, gameId, JSON.stringify(rows)],
  );
  await client.query(
    `UPDATE play p SET number = t.number, kind = t.kind, spot = t.spot, quarter = t.quarter,
            clock_seconds = t.clock_seconds, down = t.down, distance = t.distance, facts = t.facts,
            film_seconds = t.film_seconds, note = t.note, change_id = $4, version = p.version + 1
       FROM ${given}
      WHERE p.conference_id = $1 AND p.game_id = $2 AND p.id = t.id AND t.changed AND p.removed_at IS NULL`,
    [conferenceId, gameId, JSON.stringify(rows), changeId],
  );
  await client.query(
    `INSERT INTO play (conference_id, game_id, number, kind, spot, quarter, clock_seconds, down, distance, facts,
                       film_seconds, note, change_id)
     SELECT $1, $2, number, kind, spot, quarter, clock_seconds, down, distance, facts, film_seconds, note, $4
       FROM ${given} WHERE t.id IS NULL`,
    [conferenceId, gameId, JSON.stringify(rows), changeId],
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

const farAway = 1_000_000;

// In two steps by way of numbers far above any game's: the unique index is checked row by row.
async function shift(
  client: Queryable,
  conferenceId: string,
  gameId: string,
  from: number,
  by: 1 | -1,
): Promise<void> {
  await client.query(
    `UPDATE play SET number = number + $4
      WHERE conference_id = $1 AND game_id = $2 AND number >= $3 AND removed_at IS NULL`,
    [conferenceId, gameId, from, farAway],
  );
  await client.query(
    `UPDATE play SET number = number - $3 + $4
      WHERE conference_id = $1 AND game_id = $2 AND number > $3 AND removed_at IS NULL`,
    [conferenceId, gameId, farAway, by],
  );
}

async function moveRevision(client: Queryable, conferenceId: string, gameId: string): Promise<void> {
  await client.query(
    'UPDATE game SET play_log_revision = play_log_revision + 1 WHERE conference_id = $1 AND id = $2',
    [conferenceId, gameId],
  );
}
