import { v7 as uuidv7 } from 'uuid';
import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { Consequence } from '../../duties/consequence.ts';
import type { Finding } from '../../duties/finding.ts';
import type { Play } from '../../football/play.ts';
import type { Position } from '../../football/positions.ts';
import { insertPlay, lockPlayLog, removePlayRow, updatePlay } from '../../games/play-log.ts';
import { columnsOf, type PlayColumns, playOf } from '../../games/play-rows.ts';
import { handedInStates } from '../../schedule/open-states.ts';
import { moveRangesOff } from '../entry/watched-changes.ts';
import { keepGameCount } from '../filing/game-count.ts';
import { recountReport } from '../filing/kept-counts.ts';
import { keepRevision } from '../filing/kept-revision.ts';
import { noteSeal } from '../filing/report-seal.ts';
import { reasonFor, StepRefused } from '../states.ts';

/** How a correction of the play log changed one filed report's opportunities for one position and duty. */
interface CountDifference {
  readonly position: Position;
  readonly dutyKey: string;
  readonly before: number;
  readonly after: number;
}

export interface RecountedReport {
  readonly reportId: string;
  readonly game: string;
  readonly observer: string;
  readonly state: string;
  /** Opportunities in all. */
  readonly before: number;
  readonly after: number;
  readonly differences: readonly CountDifference[];
}

/**
 * Counts the filed, accepted and released reports of games again after their play logs changed, each under its own
 * rubric version. A released report whose counts differ becomes a new revision with the reason. Gives only those
 * that changed.
 */
export async function recountGames(
  client: Queryable,
  acting: Acting,
  gameIds: readonly string[],
  reason: string,
): Promise<RecountedReport[]> {
  if (gameIds.length === 0) return [];
  const { rows } = await client.query<{
    id: string;
    gameId: string;
    game: string;
    observer: string;
    state: string;
  }>(
    `SELECT r.id, r.game_id AS "gameId", g.key AS game, p.given_name || ' ' || p.family_name AS observer, r.state
       FROM report r
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN person p ON p.conference_id = r.conference_id AND p.id = r.observer_id
      WHERE r.conference_id = $1 AND r.game_id = ANY ($2::uuid[]) AND r.state IN ${handedInStates}
      ORDER BY g.key, r.id`,
    [acting.conferenceId, gameIds],
  );
  const recounted: RecountedReport[] = [];
  for (const report of rows) {
    const before = await countsOf(client, acting.conferenceId, report.id);
    await recountReport(client, acting, report.id);
    const after = await countsOf(client, acting.conferenceId, report.id);
    const keys = new Set([...before.keys(), ...after.keys()]);
    const changed = [...keys].filter((key) => before.get(key)?.text !== after.get(key)?.text);
    if (changed.length === 0) continue;
    if (report.state === 'released') {
      await client.query('UPDATE report SET revision = revision + 1 WHERE conference_id = $1 AND id = $2', [
        acting.conferenceId,
        report.id,
      ]);
      await keepRevision(client, acting, report.id, reason);
    }
    recounted.push({
      reportId: report.id,
      game: report.game,
      observer: report.observer,
      state: report.state,
      before: total(before),
      after: total(after),
      differences: changed.map((key) => {
        const [position, dutyKey] = key.split('\n') as [Position, string];
        return {
          position,
          dutyKey,
          before: before.get(key)?.opportunities ?? 0,
          after: after.get(key)?.opportunities ?? 0,
        };
      }),
    });
  }
  const released = new Set(rows.filter(({ state }) => state === 'released').map(({ gameId }) => gameId));
  for (const gameId of [...released].sort()) await keepGameCount(client, acting.conferenceId, gameId);
  return recounted;
}

/**
 * The coordinator's correction of one play of a game, whatever the state of its reports. Observations stay; filed
 * reports are counted again.
 * @throws StepRefused when the reason is missing or the play is not in the log.
 */
export async function correctPlay(
  client: Queryable,
  acting: Acting,
  gameId: string,
  playId: string,
  play: Play,
  reason: string,
): Promise<RecountedReport[]> {
  const why = reasonFor('correction', reason);
  const row = await lockedPlay(client, acting.conferenceId, gameId, playId);
  await updatePlay(
    client,
    acting.conferenceId,
    gameId,
    { id: uuidv7(), playId, after: null, play, filmSeconds: row.film_seconds, note: row.note },
    false,
  );
  const recounted = await recountGames(client, acting, [gameId], `Play log corrected: ${why}`);
  await appendAudit(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    action: 'play corrected',
    subjectKind: 'play',
    subjectId: playId,
    reason: why,
    before: playOf(row),
    after: playOf(columnsOf(play)),
  });
  return recounted;
}

/**
 * Puts a play into a game's log by the coordinator's hand, just after `after` (null: first), whatever the state of its
 * reports. Filed ones are counted again.
 * @throws StepRefused when the play it was to follow is gone, or a report is filed and the reason is missing.
 */
export async function addLoggedPlay(
  client: Queryable,
  acting: Acting,
  gameId: string,
  { after, play, reason }: { after: string | null; play: Play; reason: string },
): Promise<{ playId: string; recounted: RecountedReport[] }> {
  const { conferenceId } = acting;
  await lockPlayLog(client, conferenceId, gameId);
  if (reason.trim() === '' && (await hasFiledReport(client, conferenceId, gameId))) {
    throw new StepRefused('Give the reason: a report of this game is filed.');
  }
  if (after !== null) await lockedPlay(client, conferenceId, gameId, after);
  const playId = uuidv7();
  await insertPlay(client, conferenceId, gameId, {
    id: uuidv7(),
    playId,
    after,
    play,
    filmSeconds: null,
    note: '',
  });
  const recounted = await recountGames(client, acting, [gameId], `Play added: ${reason.trim()}`);
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: 'play added',
    subjectKind: 'play',
    subjectId: playId,
    reason: reason.trim() || null,
    after: playOf(columnsOf(play)),
  });
  return { playId, recounted };
}

/** Whether a report of the game is with the coordinator already. */
export async function hasFiledReport(db: Queryable, conferenceId: string, gameId: string): Promise<boolean> {
  const { rowCount } = await db.query(
    `SELECT FROM report WHERE conference_id = $1 AND game_id = $2
        AND state IN ${handedInStates} LIMIT 1`,
    [conferenceId, gameId],
  );
  return rowCount !== 0;
}

/** A mark on a play, of whichever report on the game. */
export interface MarkOnPlay {
  readonly observer: string;
  readonly official: string;
  readonly position: Position;
  readonly dutyKey: string;
  readonly finding: Finding;
  readonly comment: string;
  readonly consequence: Consequence | null;
}

export async function marksOnPlay(
  db: Queryable,
  conferenceId: string,
  playId: string,
): Promise<MarkOnPlay[]> {
  const { rows } = await db.query<MarkOnPlay>(
    `SELECT b.given_name || ' ' || b.family_name AS observer, p.given_name || ' ' || p.family_name AS official,
            o.position, o.duty_key AS "dutyKey", o.finding, o.comment, o.consequence
       FROM observation o
       JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
       JOIN person b ON b.conference_id = o.conference_id AND b.id = r.observer_id
       JOIN person p ON p.conference_id = o.conference_id AND p.id = o.person_id
      WHERE o.conference_id = $1 AND o.play_id = $2 AND o.removed_at IS NULL ORDER BY o.report_id, o.id`,
    [conferenceId, playId],
  );
  return rows;
}

/**
 * The coordinator's removal of a play that never was, whatever the state of the game's reports. Marks on it go too,
 * but only when `marksToo` says that they were looked at; filed reports are counted again.
 * @throws StepRefused when the reason is missing, the play is not in the log, or its marks were not looked at.
 */
export async function removeLoggedPlay(
  client: Queryable,
  acting: Acting,
  gameId: string,
  playId: string,
  { reason, marksToo }: { reason: string; marksToo: boolean },
): Promise<RecountedReport[]> {
  const { conferenceId } = acting;
  const why = reasonFor('removal', reason);
  await lockPlayLog(client, conferenceId, gameId);
  const row = await lockedPlay(client, conferenceId, gameId, playId);
  const marks = await marksOnPlay(client, conferenceId, playId);
  if (marks.length > 0 && !marksToo) {
    throw new StepRefused(
      `${marks.length === 1 ? 'A mark is' : `${marks.length} marks are`} on this play; say that they may go with it, or keep the play.`,
    );
  }
  const marksGone = await filedMarksOn(client, conferenceId, playId);
  await moveRangesOff({ client, conferenceId }, gameId, playId);
  await removePlayRow(client, conferenceId, gameId, playId, uuidv7());
  const recounted = await recountGames(client, acting, [gameId], `Play removed: ${why}`);
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: 'play removed',
    subjectKind: 'play',
    subjectId: playId,
    reason: why,
    before: { number: row.number, ...playOf(row), marks },
  });
  for (const [reportId, gone] of marksGone) await noteSeal(client, acting, reportId, gone);
  return recounted;
}

/** The marks on a play by the filed report that they are of. */
async function filedMarksOn(db: Queryable, conferenceId: string, playId: string) {
  const { rows } = await db.query<{ reportId: string; marks: string[] }>(
    `SELECT o.report_id AS "reportId", array_agg(o.id::text) AS marks
       FROM observation o JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
      WHERE o.conference_id = $1 AND o.play_id = $2 AND o.removed_at IS NULL
        AND r.state IN ${handedInStates} GROUP BY o.report_id ORDER BY o.report_id`,
    [conferenceId, playId],
  );
  return rows.map(({ reportId, marks }) => [reportId, marks] as const);
}

async function lockedPlay(client: Queryable, conferenceId: string, gameId: string, playId: string) {
  const { rows } = await client.query<
    PlayColumns & { number: number; film_seconds: number | null; note: string }
  >(
    `SELECT * FROM play WHERE conference_id = $1 AND game_id = $2 AND id = $3 AND removed_at IS NULL FOR UPDATE`,
    [conferenceId, gameId, playId],
  );
  if (!rows[0]) throw new StepRefused('The play is not in the play log of this game.');
  return rows[0];
}

type Counts = Map<string, { text: string; opportunities: number }>;

async function countsOf(client: Queryable, conferenceId: string, reportId: string): Promise<Counts> {
  const { rows } = await client.query<{ key: string; text: string; opportunities: number }>(
    `SELECT position || E'\\n' || duty_key AS key, opportunities,
            concat_ws(' ', person_id, opportunities, not_met, not_counted, model, cost_none, cost_yards,
                      cost_possession, cost_score) AS text
       FROM opportunity_count WHERE conference_id = $1 AND report_id = $2 ORDER BY 1`,
    [conferenceId, reportId],
  );
  return new Map(rows.map((row) => [row.key, row]));
}

const total = (counts: Counts) => [...counts.values()].reduce((sum, count) => sum + count.opportunities, 0);
