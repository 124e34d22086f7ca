import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import type { CalibrationSet, ClipFinding } from '../calibration.ts';
import { readSet } from './set-rows.ts';

interface Mark {
  readonly number: number;
  readonly observerId: string;
  readonly item: string;
  readonly finding: ClipFinding;
}

/** An observer's own marks, by clip and item. */
export async function readOwnMarks(
  db: Queryable,
  conferenceId: string,
  setId: string,
  observerId: string,
): Promise<Map<number, Map<string, ClipFinding>>> {
  const { rows } = await db.query<Mark>(
    `SELECT number, item, finding FROM calibration_mark
      WHERE conference_id = $1 AND set_id = $2 AND observer_id = $3`,
    [conferenceId, setId, observerId],
  );
  const marks = new Map<number, Map<string, ClipFinding>>();
  for (const { number, item, finding } of rows)
    marks.set(number, (marks.get(number) ?? new Map()).set(item, finding));
  return marks;
}

/** Marks of all who handed in: half of somebody's clips is no part of a panel. */
export async function readPanelMarks(db: Queryable, conferenceId: string, setId: string): Promise<Mark[]> {
  const { rows } = await db.query<Mark>(
    `SELECT m.number, m.observer_id AS "observerId", m.item, m.finding
       FROM calibration_mark m
       JOIN calibration_observer o ON o.conference_id = m.conference_id AND o.set_id = m.set_id
        AND o.observer_id = m.observer_id AND o.done_at IS NOT NULL
      WHERE m.conference_id = $1 AND m.set_id = $2 ORDER BY m.number, m.item, m.observer_id`,
    [conferenceId, setId],
  );
  return rows;
}

/**
 * Keeps an observer's marks of one clip, all of its items at once.
 * @throws Problem 400 naming each item that lacks a finding; 404 when there is no such clip; 409 when the set is closed or
 *   was handed in
 */
export async function putClipMarks(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  setId: string,
  number: number,
  findings: Readonly<Record<string, ClipFinding>>,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const set = await markable(client, conferenceId, setId, personId);
    const clip = set.clips.find((one) => one.number === number);
    if (!clip) throw notFound('clip');
    const missing = clip.items.filter(({ key }) => findings[key] === undefined);
    if (missing.length > 0)
      throw invalid(
        missing.map(({ key }) => ({ field: key, message: 'say what you saw, or that it could not be seen' })),
      );
    const known = new Set(clip.items.map(({ key }) => key));
    const strange = Object.keys(findings).filter((key) => !known.has(key));
    if (strange.length > 0)
      throw invalid(strange.map((key) => ({ field: key, message: 'is not asked of this clip' })));
    await client.query(
      `INSERT INTO calibration_mark (conference_id, set_id, number, observer_id, item, finding)
       SELECT $1, $2, $3, $4, n.item, n.finding FROM unnest($5::text[], $6::text[]) AS n (item, finding)
       ON CONFLICT (conference_id, set_id, number, observer_id, item)
       DO UPDATE SET finding = excluded.finding, marked_at = now()`,
      [
        ...[conferenceId, setId, number, personId],
        ...[clip.items.map(({ key }) => key), clip.items.map(({ key }) => findings[key])],
      ],
    );
  });
}

/** Hands an observer's marks in: they stay as they are. @throws Problem 409 while a clip is not marked. */
export async function handIn(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  setId: string,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const set = await markable(client, conferenceId, setId, personId);
    const marks = await readOwnMarks(client, conferenceId, setId, personId);
    const open = set.clips.filter(({ number }) => !marks.has(number)).map(({ number }) => String(number));
    if (open.length > 0)
      throw conflict(
        `${open.length > 1 ? 'Clips' : 'Clip'} ${new Intl.ListFormat('en-US').format(open)} ${open.length > 1 ? 'are' : 'is'} not marked yet.`,
      );
    await client.query(
      `UPDATE calibration_observer SET done_at = now() WHERE conference_id = $1 AND set_id = $2 AND observer_id = $3`,
      [conferenceId, setId, personId],
    );
    await appendAudit(client, {
      conferenceId,
      actorId: personId,
      action: 'calibration set: marks handed in',
      subjectKind: 'calibration_set',
      subjectId: setId,
      after: { clips: set.clips.length },
    });
  });
}

async function markable(
  client: Queryable,
  conferenceId: string,
  setId: string,
  observerId: string,
): Promise<CalibrationSet> {
  // Closing locks it too: a mark is kept before the panel is shown, or not at all.
  const set = await readSet(client, conferenceId, setId, 'lock');
  if (set.state !== 'open') throw conflict('This set is closed; nothing can be marked any more.');
  const own = set.observers.find((one) => one.observerId === observerId);
  if (!own) throw notFound('calibration set');
  if (own.doneAt !== null) throw conflict('You handed your marks in; they stay as they are.');
  return set;
}
