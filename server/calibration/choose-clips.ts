import { validate as isUuid } from 'uuid';
import type { Queryable } from '../database/transaction.ts';
import { positions } from '../football/positions.ts';
import { listEditions, readEdition } from '../programs/stores/edition-store.ts';
import { type Form, textOf } from '../web/form.ts';
import { invalid } from '../web/problem.ts';
import type { CalibrationSet } from './calibration.ts';
import type { ClipWanted } from './stores/set-store.ts';

/** The plays of a program's newest edition, each with the position that it shows. @throws Problem 400 before a release */
export async function clipsOfProgram(
  db: Queryable,
  conferenceId: string,
  programId: string,
): Promise<ClipWanted[]> {
  const [newest] = isUuid(programId) ? await listEditions(db, conferenceId, programId) : [];
  if (!newest) throw invalid([{ field: 'program', message: 'choose a program that was released' }]);
  const { content, sources } = await readEdition(db, conferenceId, programId, newest.number);
  return content.plays.flatMap(({ number, position }) => {
    const source = sources.find((one) => one.number === number);
    return source ? [{ playId: source.playId, position }] : [];
  });
}

/** One play of the season by its game and number. @throws Problem 400 naming the field */
export async function clipFromForm(
  db: Queryable,
  conferenceId: string,
  { seasonId }: CalibrationSet,
  form: Form,
): Promise<ClipWanted> {
  const [game, number, named] = [textOf(form.game), Number(textOf(form.number)), textOf(form.position)];
  const position = positions.find((one) => one === named);
  if (!position) throw invalid([{ field: 'position', message: 'choose the position to be watched' }]);
  const { rows } = await db.query<{ id: string }>(
    `SELECT p.id FROM play p JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
      WHERE p.conference_id = $1 AND g.season_id = $2 AND g.id::text = $3 AND p.number = $4 AND p.removed_at IS NULL`,
    [conferenceId, seasonId, game, Number.isInteger(number) && number < 10_000 ? number : -1],
  );
  if (!rows[0])
    throw invalid([{ field: 'number', message: 'the log of that game has no play of that number' }]);
  return { playId: rows[0].id, position };
}

/** Games of a season with film that can be watched here. */
export async function readFilmedGames(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<{ id: string; name: string }[]> {
  const { rows } = await db.query<{ id: string; name: string }>(
    `SELECT g.id, 'week ' || g.week || ': ' || t.title AS name FROM game g
       JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
      WHERE g.conference_id = $1 AND g.season_id = $2 AND EXISTS (SELECT FROM film f
            WHERE f.conference_id = $1 AND f.game_id = g.id AND f.state = 'ready' AND f.source <> 'link')
      ORDER BY g.week, t.title, g.id`,
    [conferenceId, seasonId],
  );
  return rows;
}
