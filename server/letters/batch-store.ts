import type pg from 'pg';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { conferenceToday, latestAnswerDay, openAnswersUntil } from '../reports/answer-time.ts';
import { groundsOfFigures } from '../results/season-results.ts';
import { conflict, invalid, notFound } from '../web/problem.ts';
import { dayAfter } from './answering.ts';
import type { LetterKind } from './letter-data.ts';
import type { Paper } from './pdf/style.ts';

export interface NewBatch {
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
export async function createBatch(pool: pg.Pool, who: PersonActing, batch: NewBatch): Promise<string> {
  return inTransaction(pool, async (client) => {
    if (batch.replyBy !== null) await refuseUnfitDay(client, who.conferenceId, batch.replyBy);
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

async function refuseUnfitDay(client: Queryable, conferenceId: string, day: string): Promise<void> {
  const today = await conferenceToday(client, conferenceId);
  if (day < today)
    throw invalid([{ field: 'replyBy', message: 'this day has passed; choose today or a later one' }]);
  if (day > dayAfter(today, 365)!)
    throw invalid([{ field: 'replyBy', message: 'this is more than a year away; choose an earlier day' }]);
}

export interface BatchProgress {
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

// Season $2 of conference $1, with what its figures rest on now; worked out once for all letters.
const seasonNow = `season_now AS MATERIALIZED (
  SELECT s.*, ${groundsOfFigures} AS grounds FROM season s WHERE s.conference_id = $1 AND s.id = $2)`;
// Of a letter l in the season s. Without grounds noted, a draft is out of date; of a released one the revision tells.
const outOfDate = `coalesce(l.grounds <> s.grounds, l.released_at IS NULL OR l.input_revision <> s.input_revision)`;

export interface Release {
  seasonId: string;
  kind: LetterKind;
  /** Only these letters; null: all drafts of the kind. */
  letterIds: readonly string[] | null;
  /** Send by mail as well: with the letter attached, or a link to sign in. */
  mail: 'no' | 'link' | 'attached';
}

/**
 * Gives letters to their officials: from here on they are final, and each official may answer until the day their
 * letter names. Left as drafts are those made before the newest released report, other settings or an upgrade that
 * computes otherwise, since their figures are no longer the season's, and those whose day has passed or is no longer
 * the one that holds.
 * @returns how many were released, and how many drafts were left for either reason.
 */
export async function releaseLetters(
  pool: pg.Pool,
  who: PersonActing,
  { seasonId, kind, letterIds, mail }: Release,
): Promise<{ released: number; outOfDate: number; otherDay: number }> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{
      id: string;
      personId: string;
      edition: number;
      sha256: string;
      current: boolean;
      answerBy: string | null;
    }>(
      `WITH ${seasonNow}
       SELECT l.id, l.person_id AS "personId", l.edition, l.sha256, NOT ${outOfDate} AS current,
              l.data -> 'reply' ->> 'by' AS "answerBy"
         FROM letter l JOIN season_now s ON s.conference_id = l.conference_id AND s.id = l.season_id
        WHERE l.conference_id = $1 AND l.season_id = $2 AND l.kind = $3 AND l.released_at IS NULL
          AND ($4::uuid[] IS NULL OR l.id = ANY ($4))
        ORDER BY l.id FOR UPDATE OF l`,
      [who.conferenceId, seasonId, kind, letterIds],
    );
    const today = await conferenceToday(client, who.conferenceId);
    const current: typeof rows = [];
    let otherDay = 0;
    for (const row of rows.filter((one) => one.current)) {
      const official = { conferenceId: who.conferenceId, seasonId, personId: row.personId };
      const holds = await latestAnswerDay(client, official);
      if (row.answerBy !== null && (row.answerBy < today || (holds !== null && holds > row.answerBy))) {
        otherDay += 1;
        continue;
      }
      if (row.answerBy !== null) await openAnswersUntil(client, official, row.answerBy);
      current.push(row);
    }
    const ids = current.map((row) => row.id);
    await client.query('UPDATE letter SET released_at = now() WHERE conference_id = $1 AND id = ANY ($2)', [
      who.conferenceId,
      ids,
    ]);
    if (mail !== 'no')
      await client.query(
        `INSERT INTO letter_delivery (conference_id, letter_id, attached)
         SELECT $1, id, $3 FROM unnest($2::uuid[]) AS given (id)`,
        [who.conferenceId, ids, mail === 'attached'],
      );
    for (const { id, personId, edition, sha256, answerBy } of current)
      await appendAudit(client, {
        conferenceId: who.conferenceId,
        actorId: who.personId,
        action: 'released',
        subjectKind: 'letter',
        subjectId: id,
        after: { personId, kind, edition, sha256, mail, answerBy },
      });
    return {
      released: current.length,
      outOfDate: rows.filter((row) => !row.current).length,
      otherDay,
    };
  });
}

export interface LetterLine {
  personId: string;
  name: string;
  /** Null when the official has no letter of this kind yet. */
  letter: {
    id: string;
    edition: number;
    position: string | null;
    pages: number;
    sha256: string;
    remark: string;
    createdAt: Date;
    releasedAt: Date | null;
    /** The season's released reports, its settings or the way of computing have changed since. */
    outOfDate: boolean;
    delivery: { state: string; attempts: number; lastError: string | null; sentAt: Date | null } | null;
  } | null;
}

/** Everyone with a released report, with the newest edition of their letter of a kind. */
export async function letterLines(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  kind: LetterKind,
): Promise<LetterLine[]> {
  const { rows } = await db.query<LetterLine>(
    `WITH ${seasonNow}
     SELECT p.id AS "personId", p.given_name || ' ' || p.family_name AS name,
            CASE WHEN l.id IS NULL THEN NULL ELSE jsonb_build_object(
              'id', l.id, 'edition', l.edition, 'position', l.position, 'pages', l.pages, 'sha256', l.sha256,
              'remark', l.remark, 'createdAt', l.created_at, 'releasedAt', l.released_at,
              'outOfDate', ${outOfDate},
              'delivery', CASE WHEN d.letter_id IS NULL THEN NULL ELSE jsonb_build_object(
                'state', d.state, 'attempts', d.attempts, 'lastError', d.last_error, 'sentAt', d.sent_at) END
            ) END AS letter
       FROM person p
       JOIN season_now s ON s.conference_id = p.conference_id AND s.id = $2
       LEFT JOIN LATERAL (
              SELECT * FROM letter l
               WHERE l.conference_id = p.conference_id AND l.season_id = s.id AND l.person_id = p.id AND l.kind = $3
               ORDER BY l.edition DESC LIMIT 1) l ON true
       LEFT JOIN letter_delivery d ON d.conference_id = l.conference_id AND d.letter_id = l.id
      WHERE p.conference_id = $1
        AND EXISTS (SELECT FROM opportunity_count c
                      JOIN report r ON r.conference_id = c.conference_id AND r.id = c.report_id
                     WHERE c.conference_id = p.conference_id AND c.person_id = p.id AND r.season_id = s.id
                       AND r.state = 'released')
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, seasonId, kind],
  );
  return rows;
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

export interface KeptLetter {
  id: string;
  personId: string;
  name: string;
  seasonId: string;
  seasonName: string;
  kind: LetterKind;
  edition: number;
  position: string | null;
  pages: number;
  sha256: string;
  inputRevision: number;
  templateVersion: number;
  createdAt: Date;
  releasedAt: Date | null;
  data: unknown;
}

const letterColumns = `l.id, l.person_id AS "personId", p.given_name || ' ' || p.family_name AS name,
  l.season_id AS "seasonId", s.name AS "seasonName", l.kind, l.edition, l.position, l.pages, l.sha256, l.input_revision::int AS "inputRevision",
  l.template_version AS "templateVersion", l.created_at AS "createdAt", l.released_at AS "releasedAt"`;
const letterJoins = `FROM letter l
  JOIN person p ON p.conference_id = l.conference_id AND p.id = l.person_id
  JOIN season s ON s.conference_id = l.conference_id AND s.id = l.season_id`;

/** @throws Problem 404 when the conference has no such letter. */
export async function readLetter(db: Queryable, conferenceId: string, id: string): Promise<KeptLetter> {
  const { rows } = await db.query<KeptLetter>(
    `SELECT ${letterColumns}, l.data ${letterJoins} WHERE l.conference_id = $1 AND l.id = $2`,
    [conferenceId, id],
  );
  if (!rows[0]) throw notFound('letter');
  return rows[0];
}

export async function readLetterPdf(db: Queryable, conferenceId: string, id: string): Promise<Buffer> {
  const { rows } = await db.query<{ pdf: Buffer }>(
    'SELECT pdf FROM letter WHERE conference_id = $1 AND id = $2',
    [conferenceId, id],
  );
  if (!rows[0]) throw notFound('letter');
  return rows[0].pdf;
}

/** An official's released letters, every edition, newest first. */
export async function lettersTo(
  db: Queryable,
  conferenceId: string,
  personId: string,
): Promise<Omit<KeptLetter, 'data'>[]> {
  const { rows } = await db.query<KeptLetter>(
    `SELECT ${letterColumns} ${letterJoins}
      WHERE l.conference_id = $1 AND l.person_id = $2 AND l.released_at IS NOT NULL
      ORDER BY l.released_at DESC, l.edition DESC`,
    [conferenceId, personId],
  );
  return rows;
}

/** A letter's name as a file: words and figures only, so that no system stumbles over it. */
export function letterFileName(letter: Pick<KeptLetter, 'name' | 'kind' | 'seasonName' | 'edition'>): string {
  const plain = `${letter.name} ${letter.seasonName} ${letter.kind}`
    .normalize('NFC')
    .replace(/[^\p{L}\p{N}\p{M}]+/gu, '-')
    .replace(/^-|-$/g, '');
  return `${plain}${letter.edition > 1 ? `-edition-${letter.edition}` : ''}.pdf`;
}
