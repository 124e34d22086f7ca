import { v7 as uuidv7 } from 'uuid';
import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { type Code, codeFacts } from '../../football/codes.ts';
import { layLog, lockPlayLog } from '../../games/play-log.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { hasFiledReport, type RecountedReport, recountGames } from '../../reports/review/corrections.ts';
import { codeOfSeason } from '../../rubric/read-rubric.ts';
import { conflict, notFound, Problem } from '../../web/problem.ts';
import type { ForeignFile } from './foreign-file.ts';
import { type MappedLog, mapPlays } from './map-plays.ts';
import type { Mapping } from './mapping.ts';
import { mergeLogs, type PlayAfter, type PlayInLog, type WhoIsRight } from './merge-logs.ts';
import type { GameOfLog } from './read-fact.ts';

/** The game that a log is brought to. @throws Problem 404 */
export async function gameOfLog(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<GameOfLog & { codeName: Code }> {
  const { rows } = await db.query<{
    seasonId: string;
    homeId: string;
    home: string;
    visitorId: string;
    visitor: string;
  }>(
    `SELECT g.season_id AS "seasonId", g.home_team_id AS "homeId", t.home, g.visiting_team_id AS "visitorId", t.visitor
       FROM game g
       JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
      WHERE g.conference_id = $1 AND g.id = $2`,
    [conferenceId, gameId],
  );
  const game = rows[0];
  if (!game) throw notFound('game');
  const codeName = await codeOfSeason(db, conferenceId, game.seasonId);
  return {
    home: { id: game.homeId, name: game.home },
    visitor: { id: game.visitorId, name: game.visitor },
    code: codeFacts[codeName],
    codeName,
  };
}

async function playsInLog(db: Queryable, conferenceId: string, gameId: string): Promise<PlayInLog[]> {
  const { rows } = await db.query<
    PlayColumns & { id: string; number: number; film_seconds: number | null; note: string }
  >(
    `SELECT id, number, kind, spot, quarter, clock_seconds, down, distance, facts, film_seconds, note
       FROM play WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number`,
    [conferenceId, gameId],
  );
  return rows.map((row) => ({
    id: row.id,
    number: row.number,
    play: playOf(row),
    filmSeconds: row.film_seconds,
    note: row.note,
  }));
}

/** What bringing a file in would do, or did. */
export interface LogBrought extends MappedLog {
  /** Plays that were logged before. */
  readonly logged: number;
  /** The log as it would be, in order; empty while rows are undecided. */
  readonly after: readonly PlayAfter[];
  readonly added: number;
  readonly changed: number;
  /** Plays of which log and file say something different. */
  readonly differing: number;
  /** Plays that the file does not have; they stay. */
  readonly onlyInLog: number;
}

/** What bringing this file to the game would do. Changes nothing. */
export async function planLog(
  db: Queryable,
  conferenceId: string,
  gameId: string,
  { file, mapping, right }: { file: ForeignFile; mapping: Mapping; right: WhoIsRight },
): Promise<LogBrought> {
  const mapped = mapPlays(file, mapping, await gameOfLog(db, conferenceId, gameId));
  const log = await playsInLog(db, conferenceId, gameId);
  const fits = inTheWay(mapped) === undefined;
  const after = !fits ? [] : mergeLogs(log, mapped.plays, right);
  return {
    ...mapped,
    logged: log.length,
    after,
    added: after.filter(({ id }) => id === undefined).length,
    changed: after.filter(({ changed }) => changed).length,
    differing: after.filter(({ differing }) => differing.length > 0).length,
    onlyInLog: after.filter(({ onlyInLog }) => onlyInLog).length,
  };
}

/** Longer than any game; a file of a season, of which the rows of other games were not left out. */
const mostPlays = 500;

/** Why a log cannot be brought in as it was read; undefined when it can. */
export function inTheWay({ plays, undecided }: MappedLog): string | undefined {
  if (undecided.length > 0) {
    const [one] = undecided;
    const where = `line ${one!.line}${one!.column === '' ? '' : `, column ${one!.column}`}`;
    return `${undecided.length === 1 ? 'One row is' : `${undecided.length} rows are`} undecided, the first in ${where}: ${one!.value === '' ? '' : `“${one!.value}” `}${one!.problem}. ${one!.fix}`;
  }
  if (plays.length === 0)
    return 'No row is a play. Choose what the columns hold, and which rows are left out.';
  if (plays.length > mostPlays) {
    return `${plays.length} rows are plays, more than a game has. Leave the rows of other games out.`;
  }
  return undefined;
}

/** The whole of what is brought in. */
export interface LogToBring {
  readonly gameId: string;
  readonly fileName: string;
  readonly sha256: string;
  readonly file: ForeignFile;
  readonly mapping: Mapping;
  /** The name under which the mapping is kept. */
  readonly mappingName: string | null;
  readonly right: WhoIsRight;
  readonly reason: string;
}

/**
 * Brings a log from elsewhere to a game: all of it or nothing. No play is removed, and marks stay on theirs. Filed
 * reports are counted again.
 * @throws Problem 422 with what is in the way, 409 when a report is filed and the log is not this person's to change.
 */
export async function bringLog(
  client: Queryable,
  acting: Acting & { mayCorrectFiled: boolean },
  brought: LogToBring,
): Promise<LogBrought & { recounted: RecountedReport[] }> {
  const { conferenceId, personId } = acting;
  const { gameId, fileName, reason } = brought;
  // Imports of files wait for each other too.
  await client.query(`SELECT pg_advisory_xact_lock(hashtextextended('import ' || $1, 0))`, [conferenceId]);
  await lockPlayLog(client, conferenceId, gameId);
  if (await hasFiledReport(client, conferenceId, gameId)) {
    if (!acting.mayCorrectFiled) {
      throw conflict(
        'A report on this game is already with the coordinator; ask the coordinator to bring the play log.',
      );
    }
    if (reason.trim() === '') {
      const message = 'Give the reason: a report of this game is filed.';
      throw conflict(message, [{ field: 'reason', message }]);
    }
  }
  const plan = await planLog(client, conferenceId, gameId, brought);
  const wrong = inTheWay(plan);
  if (wrong !== undefined) {
    throw new Problem(
      422,
      'The log was not brought in',
      wrong,
      plan.undecided.slice(0, 200).map(({ line, column, value, problem, fix }) => ({
        field: `line ${line}${column === '' ? '' : `, ${column}`}`,
        message: `${value === '' ? '' : `“${value}” `}${problem}. ${fix}`,
      })),
    );
  }
  const nothingNew = plan.added + plan.changed === 0;
  if (!nothingNew) {
    await layLog(client, conferenceId, gameId, uuidv7(), plan.after);
  }
  await client.query(
    `INSERT INTO import_file (conference_id, kind, file_name, sha256, added, changed, unchanged, imported_by)
     VALUES ($1, 'plays', $2, $3, $4, $5, $6, $7)`,
    [
      conferenceId,
      fileName,
      brought.sha256,
      plan.added,
      plan.changed,
      plan.plays.length - plan.added - plan.changed,
      personId,
    ],
  );
  if (nothingNew) return { ...plan, recounted: [] };
  const why = reason.trim() === '' ? `The play log was brought in from ${fileName}` : reason.trim();
  const recounted = await recountGames(client, acting, [gameId], why);
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'play log brought in',
    subjectKind: 'game',
    subjectId: gameId,
    reason: reason.trim() || null,
    after: {
      fileName,
      mapping: brought.mappingName,
      added: plan.added,
      changed: plan.changed,
      onlyInLog: plan.onlyInLog,
    },
  });
  return { ...plan, recounted };
}
