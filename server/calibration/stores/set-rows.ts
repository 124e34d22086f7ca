import type { Queryable } from '../../database/transaction.ts';
import { notFound } from '../../web/problem.ts';
import type { CalibrationSet, Clip, SetObserver } from '../calibration.ts';

type Row = Omit<CalibrationSet, 'clips' | 'observers' | 'openedAt' | 'closedAt'> & {
  openedAt: Date | null;
  closedAt: Date | null;
};

/** @throws Problem 404 when the conference has no such set. @param lock holds it until the transaction ends */
export async function readSet(
  db: Queryable,
  conferenceId: string,
  setId: string,
  lock: 'lock' | null = null,
): Promise<CalibrationSet> {
  const { rows } = await db.query<Row>(
    `SELECT id, season_id AS "seasonId", title, to_char(due_on, 'YYYY-MM-DD') AS "dueOn", state,
            opened_at AS "openedAt", closed_at AS "closedAt"
       FROM calibration_set WHERE conference_id = $1 AND id = $2 ${lock ? 'FOR UPDATE' : ''}`,
    [conferenceId, setId],
  );
  const row = rows[0];
  if (!row) throw notFound('calibration set');
  const clips = await db.query<Clip>(
    `SELECT number, play_id AS "playId", position, items FROM calibration_clip
      WHERE conference_id = $1 AND set_id = $2 ORDER BY number`,
    [conferenceId, setId],
  );
  const observers = await db.query<{
    observerId: string;
    remindedAt: Date | null;
    doneAt: Date | null;
    marked: number;
  }>(
    `SELECT o.observer_id AS "observerId", o.reminded_at AS "remindedAt", o.done_at AS "doneAt",
            (SELECT count(DISTINCT m.number)::int FROM calibration_mark m
              WHERE m.conference_id = $1 AND m.set_id = $2 AND m.observer_id = o.observer_id) AS marked
       FROM calibration_observer o WHERE o.conference_id = $1 AND o.set_id = $2 ORDER BY o.observer_id`,
    [conferenceId, setId],
  );
  return {
    ...row,
    openedAt: row.openedAt?.toISOString() ?? null,
    closedAt: row.closedAt?.toISOString() ?? null,
    clips: clips.rows,
    observers: observers.rows.map(
      (one): SetObserver => ({
        ...one,
        remindedAt: one.remindedAt?.toISOString() ?? null,
        doneAt: one.doneAt?.toISOString() ?? null,
      }),
    ),
  };
}

interface SetLine {
  readonly id: string;
  readonly title: string;
  readonly state: CalibrationSet['state'];
  readonly dueOn: string | null;
  readonly clips: number;
  readonly asked: number;
  readonly done: number;
}

const lineColumns = `s.id, s.title, s.state, to_char(s.due_on, 'YYYY-MM-DD') AS "dueOn",
  (SELECT count(*)::int FROM calibration_clip c WHERE c.conference_id = $1 AND c.set_id = s.id) AS clips`;

/** A season's sets, the newest first. */
export async function listSets(db: Queryable, conferenceId: string, seasonId: string): Promise<SetLine[]> {
  const { rows } = await db.query<SetLine>(
    `SELECT ${lineColumns},
            (SELECT count(*)::int FROM calibration_observer o WHERE o.conference_id = $1 AND o.set_id = s.id) AS asked,
            (SELECT count(*)::int FROM calibration_observer o
              WHERE o.conference_id = $1 AND o.set_id = s.id AND o.done_at IS NOT NULL) AS done
       FROM calibration_set s WHERE s.conference_id = $1 AND s.season_id = $2 ORDER BY s.made_at DESC, s.id`,
    [conferenceId, seasonId],
  );
  return rows;
}

interface OwnSet extends Omit<SetLine, 'asked' | 'done'> {
  readonly seasonId: string;
  readonly marked: number;
  readonly handedIn: boolean;
}

/** Sets that an observer was asked to mark, those still to do first. */
export async function listOwnSets(
  db: Queryable,
  conferenceId: string,
  observerId: string,
): Promise<OwnSet[]> {
  const { rows } = await db.query<OwnSet>(
    `SELECT ${lineColumns}, s.season_id AS "seasonId", o.done_at IS NOT NULL AS "handedIn",
            (SELECT count(DISTINCT m.number)::int FROM calibration_mark m
              WHERE m.conference_id = $1 AND m.set_id = s.id AND m.observer_id = $2) AS marked
       FROM calibration_observer o
       JOIN calibration_set s ON s.conference_id = o.conference_id AND s.id = o.set_id AND s.state <> 'draft'
      WHERE o.conference_id = $1 AND o.observer_id = $2
      ORDER BY s.state = 'closed', o.done_at IS NOT NULL, s.due_on NULLS LAST, s.made_at DESC`,
    [conferenceId, observerId],
  );
  return rows;
}
