import type pg from 'pg';
import type { PersonInZone } from '../accounts/acting.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { dayAfter } from '../text/days.ts';
import { conflict, invalid, notFound } from '../web/problem.ts';
import { dayIn } from '../web/today.ts';
import type { LetterKind } from './letter-data.ts';
import type { Paper } from './pdf/style.ts';

interface NewBatch {
  seasonId: string;
  kind: LetterKind;
  paper: Paper;
  /** The last day of answering, YYYY-MM-DD; null: the conference's reply days from today. */
  replyBy: string | null;
  /** Only these officials; null: everyone with a released report. */
  personIds: readonly string[] | null;
}

/**
 * Starts a batch: one job for each official with a released report in the season. Returns its id.
 * @throws Problem 400 when the day has passed or is more than a year away, 409 when there is nobody to write to.
 */
export async function createBatch(pool: pg.Pool, who: PersonInZone, batch: NewBatch): Promise<string> {
  return inTransaction(pool, async (client) => {
    if (batch.replyBy !== null) refuseUnfitDay(dayIn(who.timeZone), batch.replyBy);
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO letter_batch (conference_id, season_id, kind, paper, issued_on, reply_by, created_by)
       SELECT s.conference_id, s.id, $3, $4, today, coalesce($5::date, today + nullif(c.reply_days, 0)), $6
         FROM season s JOIN conference c ON c.id = s.conference_id,
              LATERAL (SELECT (now() AT TIME ZONE c.time_zone)::date AS today) day
        WHERE s.conference_id = $1 AND s.id = $2 RETURNING id`,
      [who.conferenceId, batch.seasonId, batch.kind, batch.paper, batch.replyBy, who.personId],
    );
    if (!rows[0]) throw notFound('season');
    const { rowCount } = await client.query(
      `INSERT INTO letter_job (conference_id, batch_id, person_id)
       SELECT DISTINCT r.conference_id, $3::uuid, c.person_id
         FROM report r JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
        WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'
          AND ($4::uuid[] IS NULL OR c.person_id = ANY ($4))`,
      [who.conferenceId, batch.seasonId, rows[0].id, batch.personIds],
    );
    if (!rowCount)
      throw conflict(
        'No report of these officials has been released yet, so there is nothing to write. Accept and release reports on the Reports page first.',
      );
    return rows[0].id;
  });
}

function refuseUnfitDay(today: string, day: string): void {
  if (day < today)
    throw invalid([{ field: 'replyBy', message: 'this day has passed; choose today or a later one' }]);
  if (day > dayAfter(today, 365))
    throw invalid([{ field: 'replyBy', message: 'this is more than a year away; choose an earlier day' }]);
}

interface BatchProgress {
  id: string;
  seasonId: string;
  kind: LetterKind;
  paper: Paper;
  issuedOn: string;
  replyBy: string | null;
  createdAt: Date;
  total: number;
  waiting: number;
  made: number;
  unchanged: number;
  failed: number;
  finished: boolean;
  jobs: {
    personId: string;
    name: string;
    state: 'waiting' | 'made' | 'unchanged' | 'failed';
    error: string | null;
    letterId: string | null;
  }[];
}

/** @throws Problem 404 when the conference has no such batch. */
export async function batchProgress(db: Queryable, conferenceId: string, id: string): Promise<BatchProgress> {
  const { rows } = await db.query<
    Omit<BatchProgress, 'total' | 'waiting' | 'made' | 'unchanged' | 'failed' | 'finished' | 'jobs'>
  >(
    `SELECT id, season_id AS "seasonId", kind, paper, to_char(issued_on, 'YYYY-MM-DD') AS "issuedOn",
            to_char(reply_by, 'YYYY-MM-DD') AS "replyBy", created_at AS "createdAt"
       FROM letter_batch WHERE conference_id = $1 AND id = $2`,
    [conferenceId, id],
  );
  if (!rows[0]) throw notFound('batch');
  const { rows: jobs } = await db.query<BatchProgress['jobs'][number]>(
    `SELECT j.person_id AS "personId", p.given_name || ' ' || p.family_name AS name, j.state, j.error,
            j.letter_id AS "letterId"
       FROM letter_job j JOIN person p ON p.conference_id = j.conference_id AND p.id = j.person_id
      WHERE j.conference_id = $1 AND j.batch_id = $2 ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, id],
  );
  const inState = (state: string) => jobs.filter((job) => job.state === state).length;
  const waiting = inState('waiting');
  return {
    ...rows[0],
    total: jobs.length,
    waiting,
    made: inState('made'),
    unchanged: inState('unchanged'),
    failed: inState('failed'),
    finished: waiting === 0,
    jobs,
  };
}

/** Puts a batch's failed jobs back in the queue. Returns how many. */
export async function retryFailed(db: Queryable, conferenceId: string, id: string): Promise<number> {
  const { rowCount } = await db.query(
    `UPDATE letter_job SET state = 'waiting', attempts = 0, error = NULL, finished_at = NULL
      WHERE conference_id = $1 AND batch_id = $2 AND state = 'failed'`,
    [conferenceId, id],
  );
  return rowCount ?? 0;
}

/** The newest batch of a season and kind, if any. */
export async function latestBatch(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  kind: LetterKind,
): Promise<string | null> {
  const { rows } = await db.query<{ id: string }>(
    `SELECT id FROM letter_batch WHERE conference_id = $1 AND season_id = $2 AND kind = $3
      ORDER BY created_at DESC LIMIT 1`,
    [conferenceId, seasonId, kind],
  );
  return rows[0]?.id ?? null;
}
