import { createHash } from 'node:crypto';
import type { Database } from '../database/database.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { databaseTrouble } from '../database/trouble.ts';
import { latestAnswerDay } from '../reports/answer-time.ts';
import type { SeasonResults } from '../results/season-results.ts';
import { changesBetween } from './letter-changes.ts';
import type { LetterData, LetterKind } from './letter-data.ts';
import { letterOfSeason } from './letter-of-season.ts';
import type { LetterWriter } from './letter-writer.ts';
import type { Paper } from './pdf/style.ts';
import { type LetterSeason, readLetterSeason } from './season-source.ts';
import { readTemplate } from './template-store.ts';

/** Letters of one conference in a row, while others wait too. */
const lettersInTurn = 4;
/** Batches whose seasons are kept read, so that taking turns reads none anew. */
const batchesKept = 4;

/** After this many failures a job waits for the coordinator. */
const mostAttempts = 3;

interface Job {
  conferenceId: string;
  batchId: string;
  personId: string;
  attempts: number;
  seasonId: string;
  kind: LetterKind;
  paper: Paper;
  issuedOn: string;
  replyBy: string | null;
  coordinator: string;
}

/** What a batch's letters share; read once by each process that works on it. */
interface Prepared {
  season: LetterSeason;
  template: string;
  templateVersion: number;
}

/**
 * Makes letters from the queue. Any number of processes may do so: a job is held by a row lock from its choice to
 * its letter, in one transaction, so no letter is made twice, and the jobs of a process that dies are free again
 * as soon as the database notices.
 */
export class LetterMaker {
  private readonly database: Pick<Database, 'pool' | 'prisma'>;
  private readonly results: SeasonResults;
  private readonly answerPage: string;
  private readonly writer: LetterWriter;
  /** By batch, least lately used first. */
  private readonly prepared = new Map<string, Promise<Prepared>>();

  /** @param answerPage address of the page where officials answer, which letters link to */
  constructor(
    database: Pick<Database, 'pool' | 'prisma'>,
    results: SeasonResults,
    answerPage: string,
    writer: LetterWriter,
    /** Runs the making of each letter, and may time it. */
    private readonly timed: (work: () => Promise<void>) => Promise<void> = (work) => work(),
  ) {
    this.database = database;
    this.results = results;
    this.answerPage = answerPage;
    this.writer = writer;
  }

  /** Makes the next letter that nobody else is making. False when there is none. */
  async makeNext(): Promise<boolean> {
    return inTransaction(this.database.pool, async (client) => {
      const job = await takeJob(client);
      if (!job) {
        this.prepared.clear(); // a batch asked for later is of the season as it is then
        return false;
      }
      await client.query('SAVEPOINT letter');
      try {
        await this.timed(() => this.make(client, job));
        await client.query('RELEASE SAVEPOINT letter');
      } catch (error) {
        this.prepared.delete(job.batchId);
        // No fault of the letter: its job goes back to the queue as it was.
        if (databaseTrouble(error) !== undefined) throw error;
        await client.query('ROLLBACK TO SAVEPOINT letter');
        await client.query(
          `UPDATE letter_job SET attempts = attempts + 1, error = $4,
                  state = CASE WHEN attempts + 1 >= $5 THEN 'failed' ELSE 'waiting' END,
                  finished_at = CASE WHEN attempts + 1 >= $5 THEN now() END
            WHERE conference_id = $1 AND batch_id = $2 AND person_id = $3`,
          [job.conferenceId, job.batchId, job.personId, wordsOf(error), mostAttempts],
        );
      }
      return true;
    });
  }

  private async make(client: Queryable, job: Job): Promise<void> {
    const { season, template, templateVersion } = await this.prepare(job);
    // Two batches for the same official take turns.
    await client.query("SELECT pg_advisory_xact_lock(hashtextextended('letter ' || $1, 0))", [
      [job.conferenceId, job.seasonId, job.personId, job.kind].join(' '),
    ]);
    const data = letterOfSeason(season, job.personId, {
      ...job,
      replyBy: await dayThatHolds(client, job),
      answerPage: this.answerPage,
    });
    const { rows } = await client.query<{
      id: string;
      edition: number;
      released: boolean;
      templateVersion: number;
      data: LetterData;
    }>(
      `SELECT id, edition, released_at IS NOT NULL AS released, template_version AS "templateVersion", data
         FROM letter WHERE conference_id = $1 AND season_id = $2 AND person_id = $3 AND kind = $4
        ORDER BY edition DESC LIMIT 2`,
      [job.conferenceId, job.seasonId, job.personId, job.kind],
    );
    const draft = rows.find((row) => !row.released);
    const given = rows.find((row) => row.released);
    const changes = given ? changesBetween(given.data, data) : [];
    if (given && changes.length === 0) {
      if (given.templateVersion === templateVersion) {
        if (draft) await dropDraft(client, job.conferenceId, draft.id);
        await finish(client, job, 'unchanged', given.id);
        return;
      }
      changes.push('The letter’s wording was revised; no figure changed.');
    }
    const edition = (given?.edition ?? 0) + 1;
    const whole: LetterData = { ...data, edition, changes };
    const { pdf, pages, unsupported } = await this.writer.pdf(job.kind, template, whole, job.paper);
    const remark =
      unsupported.scripts.length > 0
        ? `Printed with □ for ${unsupported.scripts.join(', ')}: ${unsupported.texts.slice(0, 5).join(', ')}`
        : '';
    const id = await keep(client, job, draft?.id ?? null, {
      edition,
      position: whole.official.position,
      inputRevision: season.inputRevision,
      grounds: season.grounds,
      readAt: season.readAt,
      templateVersion,
      sha256: createHash('sha256').update(pdf).digest('hex'),
      pages,
      pdf,
      data: whole,
      remark,
    });
    await finish(client, job, 'made', id);
  }

  private prepare(job: Job): Promise<Prepared> {
    const value = this.prepared.get(job.batchId) ?? prepareBatch(this.database, this.results, job);
    this.prepared.delete(job.batchId);
    this.prepared.set(job.batchId, value);
    for (const batchId of [...this.prepared.keys()].slice(0, -batchesKept)) this.prepared.delete(batchId);
    return value;
  }
}

/** A window that is open longer than the batch's day is not shortened, so the letter names the longer one. */
async function dayThatHolds(client: Queryable, job: Job): Promise<string | null> {
  if (job.replyBy === null) return null;
  const open = await latestAnswerDay(client, job);
  return open !== null && open > job.replyBy ? open : job.replyBy;
}

async function prepareBatch(
  database: Pick<Database, 'pool' | 'prisma'>,
  results: SeasonResults,
  job: Job,
): Promise<Prepared> {
  const { body, version } = await readTemplate(database, job.conferenceId, job.kind);
  const season = await readLetterSeason(database.pool, results, job.conferenceId, job.seasonId);
  if (!season) throw new Error('The season is gone.');
  return { season, template: body, templateVersion: version };
}

/**
 * Conferences take turns of a few letters: of the batches that are not finished yet, that conference comes next which
 * has had fewest turns, so that one with few letters need not wait for another's many.
 */
async function takeJob(client: Queryable): Promise<Job | undefined> {
  const { rows } = await client.query<Job>(
    `WITH unfinished AS (
       SELECT DISTINCT conference_id, batch_id FROM letter_job WHERE state = 'waiting'),
     served AS (
       SELECT u.conference_id, count(j.person_id) / ${lettersInTurn} AS turns
         FROM unfinished u
         LEFT JOIN letter_job j ON j.conference_id = u.conference_id AND j.batch_id = u.batch_id AND j.state <> 'waiting'
        GROUP BY u.conference_id)
     SELECT j.conference_id AS "conferenceId", j.batch_id AS "batchId", j.person_id AS "personId", j.attempts,
            b.season_id AS "seasonId", b.kind, b.paper, to_char(b.issued_on, 'YYYY-MM-DD') AS "issuedOn",
            to_char(b.reply_by, 'YYYY-MM-DD') AS "replyBy",
            p.given_name || ' ' || p.family_name AS coordinator
       FROM letter_job j
       JOIN served s ON s.conference_id = j.conference_id
       JOIN letter_batch b ON b.conference_id = j.conference_id AND b.id = j.batch_id
       JOIN person p ON p.conference_id = b.conference_id AND p.id = b.created_by
      WHERE j.state = 'waiting'
      ORDER BY s.turns, b.created_at, j.attempts, j.person_id
      LIMIT 1 FOR UPDATE OF j SKIP LOCKED`,
  );
  return rows[0];
}

async function dropDraft(client: Queryable, conferenceId: string, id: string): Promise<void> {
  await client.query('UPDATE letter_job SET letter_id = NULL WHERE conference_id = $1 AND letter_id = $2', [
    conferenceId,
    id,
  ]);
  await client.query('DELETE FROM letter WHERE conference_id = $1 AND id = $2', [conferenceId, id]);
}

interface MadeLetter {
  edition: number;
  position: string;
  inputRevision: number;
  grounds: string;
  readAt: Date;
  templateVersion: number;
  sha256: string;
  pages: number;
  pdf: Buffer;
  data: LetterData;
  remark: string;
}

/** A draft is replaced by what is made now; after a release there is a new edition. */
async function keep(
  client: Queryable,
  job: Job,
  draftId: string | null,
  letter: MadeLetter,
): Promise<string> {
  const values = [
    job.conferenceId,
    draftId,
    letter.inputRevision,
    letter.templateVersion,
    letter.sha256,
    letter.pages,
    letter.pdf,
    JSON.stringify(letter.data),
    letter.remark,
    letter.position,
    letter.edition,
    letter.grounds,
    letter.readAt,
  ];
  if (draftId) {
    await client.query(
      `UPDATE letter SET input_revision = $3, template_version = $4, sha256 = $5, pages = $6, pdf = $7, data = $8,
              remark = $9, position = $10, edition = $11, grounds = $12, read_at = $13, created_at = now()
        WHERE conference_id = $1 AND id = $2`,
      values,
    );
    return draftId;
  }
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO letter (conference_id, id, input_revision, template_version, sha256, pages, pdf, data, remark,
                         position, edition, grounds, read_at, season_id, person_id, kind)
     VALUES ($1, coalesce($2::uuid, gen_random_uuid()), $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)
     RETURNING id`,
    [...values, job.seasonId, job.personId, job.kind],
  );
  return rows[0]!.id;
}

async function finish(
  client: Queryable,
  job: Job,
  state: 'made' | 'unchanged',
  letterId: string,
): Promise<void> {
  await client.query(
    `UPDATE letter_job SET state = $4, letter_id = $5, attempts = attempts + 1, error = NULL, finished_at = now()
      WHERE conference_id = $1 AND batch_id = $2 AND person_id = $3`,
    [job.conferenceId, job.batchId, job.personId, state, letterId],
  );
}

/** What the coordinator is told; the whole error is for the log. */
function wordsOf(error: unknown): string {
  return (error instanceof Error ? error.message : String(error)).slice(0, 1000);
}
