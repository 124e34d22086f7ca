import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import type { KeptQuestion, Question } from '../rules/question.ts';

const columns = `q.id, q.label, q.retired_at AS "retiredAt", v.version, v.text, v.choices, v.answer, v.explanation, v.code,
  v.rule, v.mechanic, v.positions`;
/** The newest version of each question. */
const newest = `quiz_question q JOIN LATERAL (SELECT * FROM quiz_question_version v
    WHERE v.conference_id = q.conference_id AND v.question_id = q.id ORDER BY v.version DESC LIMIT 1) v ON true`;
const counts = `LEFT JOIN (SELECT a.question_id, count(*)::int AS asked, count(*) FILTER (WHERE a.choice = w.answer)::int AS "right"
    FROM quiz_answer a
    JOIN quiz_attempt t ON t.conference_id = a.conference_id AND t.id = a.attempt_id AND t.ended_at IS NOT NULL
    JOIN quiz_question_version w ON w.conference_id = a.conference_id AND w.question_id = a.question_id AND w.version = a.version
   WHERE a.conference_id = $1 GROUP BY a.question_id) n ON n.question_id = q.id`;

/** The bank, by label as people count (8-3-2 before 10-1-1); retired questions last. */
export async function listQuestions(db: Queryable, conferenceId: string): Promise<KeptQuestion[]> {
  const { rows } = await db.query<KeptQuestion>(
    `SELECT ${columns}, coalesce(n.asked, 0) AS asked, coalesce(n."right", 0) AS "right" FROM ${newest} ${counts}
      WHERE q.conference_id = $1`,
    [conferenceId],
  );
  const byLabel = new Intl.Collator('en-US', { numeric: true });
  return rows.sort(
    (a, b) =>
      Number(a.retiredAt !== null) - Number(b.retiredAt !== null) || byLabel.compare(a.label, b.label),
  );
}

/** @throws Problem 404 */
export async function readQuestion(
  db: Queryable,
  conferenceId: string,
  questionId: string,
): Promise<KeptQuestion> {
  const { rows } = await db.query<KeptQuestion>(
    `SELECT ${columns}, coalesce(n.asked, 0) AS asked, coalesce(n."right", 0) AS "right" FROM ${newest} ${counts}
      WHERE q.conference_id = $1 AND q.id = $2`,
    [conferenceId, questionId],
  );
  if (!rows[0]) throw notFound('question');
  return rows[0];
}

/** @throws Problem 400 where the label is taken */
export function createQuestion(pool: pg.Pool, acting: PersonActing, question: Question): Promise<string> {
  return inTransaction(pool, async (client) => {
    const id = await insertQuestion(client, acting, question);
    await noted(client, acting, id, 'quiz question written', null, question);
    return id;
  });
}

/**
 * Changes a question. One that somebody was asked gets a new version; whoever was asked the old one keeps it.
 *
 * @throws Problem 404, 400 where the label is taken
 * @returns the number of its version now
 */
export function changeQuestion(
  pool: pg.Pool,
  acting: PersonActing,
  questionId: string,
  question: Question,
): Promise<number> {
  return inTransaction(pool, async (client) => {
    const before = await readQuestion(client, acting.conferenceId, questionId);
    const version = await writeVersion(client, acting, before, question);
    if (version === null) return before.version;
    await noted(client, acting, questionId, 'quiz question changed', before, { ...question, version });
    return version;
  });
}

/** Takes a question out of what new quizzes are made of, or back. @throws Problem 404 */
export async function retireQuestion(
  pool: pg.Pool,
  acting: PersonActing,
  questionId: string,
  retired: boolean,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { rowCount } = await client.query(
      `UPDATE quiz_question SET retired_at = CASE WHEN $3 THEN coalesce(retired_at, now()) END
        WHERE conference_id = $1 AND id = $2`,
      [acting.conferenceId, questionId, retired],
    );
    if (rowCount === 0) throw notFound('question');
    const action = retired ? 'quiz question retired' : 'quiz question taken back';
    await noted(client, acting, questionId, action, null, { retired });
  });
}

export interface Taken {
  readonly added: number;
  readonly changed: number;
  readonly unchanged: number;
}

/** Takes questions from a file, all in one transaction: a label that is there is changed, another one added. */
export function takeQuestions(
  pool: pg.Pool,
  acting: PersonActing,
  questions: readonly Question[],
): Promise<Taken> {
  return inTransaction(pool, async (client) => {
    const there = new Map(
      (await listQuestions(client, acting.conferenceId)).map((one) => [one.label.toLowerCase(), one]),
    );
    const taken = { added: 0, changed: 0, unchanged: 0 };
    for (const question of questions) {
      const before = there.get(question.label.toLowerCase());
      if (before === undefined) {
        await insertQuestion(client, acting, question);
        taken.added += 1;
      } else if ((await writeVersion(client, acting, before, { ...question, label: before.label })) === null)
        taken.unchanged += 1;
      else taken.changed += 1;
    }
    if (taken.added + taken.changed > 0)
      await noted(client, acting, acting.conferenceId, 'quiz questions imported', null, taken);
    return taken;
  });
}

async function insertQuestion(client: Queryable, acting: PersonActing, question: Question): Promise<string> {
  await labelIsFree(client, acting.conferenceId, question.label, null);
  const { rows } = await client.query<{ id: string }>(
    'INSERT INTO quiz_question (conference_id, label) VALUES ($1, $2) RETURNING id',
    [acting.conferenceId, question.label],
  );
  await insertVersion(client, acting, rows[0]!.id, 1, question);
  return rows[0]!.id;
}

async function labelIsFree(client: Queryable, conferenceId: string, label: string, but: string | null) {
  const { rowCount } = await client.query(
    'SELECT FROM quiz_question WHERE conference_id = $1 AND lower(label) = lower($2) AND id IS DISTINCT FROM $3::uuid',
    [conferenceId, label, but],
  );
  if (rowCount) throw invalid([{ field: 'label', message: 'another question has this label already' }]);
}

/** @returns the version, or null where nothing is different */
async function writeVersion(
  client: Queryable,
  acting: PersonActing,
  before: KeptQuestion,
  question: Question,
): Promise<number | null> {
  const { conferenceId } = acting;
  const { label, ...content } = question;
  const same = Object.entries(content).every(
    ([field, value]) => JSON.stringify(value) === JSON.stringify(before[field as keyof Question]),
  );
  if (label !== before.label) {
    await labelIsFree(client, conferenceId, label, before.id);
    await client.query('UPDATE quiz_question SET label = $3 WHERE conference_id = $1 AND id = $2', [
      ...[conferenceId, before.id, label],
    ]);
  }
  if (same) return label === before.label ? null : before.version;
  // Held against a sitting that draws it just now.
  await client.query('SELECT FROM quiz_question WHERE conference_id = $1 AND id = $2 FOR UPDATE', [
    ...[conferenceId, before.id],
  ]);
  const { rowCount: asked } = await client.query(
    'SELECT FROM quiz_answer WHERE conference_id = $1 AND question_id = $2 AND version = $3 LIMIT 1',
    [conferenceId, before.id, before.version],
  );
  if (asked) {
    await insertVersion(client, acting, before.id, before.version + 1, question);
    return before.version + 1;
  }
  await client.query(
    'DELETE FROM quiz_question_version WHERE conference_id = $1 AND question_id = $2 AND version = $3',
    [conferenceId, before.id, before.version],
  );
  await insertVersion(client, acting, before.id, before.version, question);
  return before.version;
}

async function insertVersion(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  questionId: string,
  version: number,
  question: Question,
): Promise<void> {
  await client.query(
    `INSERT INTO quiz_question_version (conference_id, question_id, version, text, choices, answer, explanation, code, rule,
                                        mechanic, positions, written_by)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`,
    [
      ...[
        conferenceId,
        questionId,
        version,
        question.text,
        JSON.stringify(question.choices),
        question.answer,
      ],
      ...[question.explanation, question.code, question.rule, question.mechanic],
      ...[JSON.stringify(question.positions), personId],
    ],
  );
}

/** Deletes a question that no quiz asks and nobody was asked. @throws Problem 404, 409 */
export async function removeQuestion(pool: pg.Pool, acting: PersonActing, questionId: string): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { label } = await readQuestion(client, acting.conferenceId, questionId);
    const { rowCount: used } = await client.query(
      `SELECT FROM quiz_pool WHERE conference_id = $1 AND question_id = $2
       UNION ALL SELECT FROM quiz_answer WHERE conference_id = $1 AND question_id = $2 LIMIT 1`,
      [acting.conferenceId, questionId],
    );
    if (used) throw conflict('A quiz has this question: retire it, so that no new quiz takes it.');
    await client.query('DELETE FROM quiz_question WHERE conference_id = $1 AND id = $2', [
      ...[acting.conferenceId, questionId],
    ]);
    await noted(client, acting, questionId, 'quiz question removed', { label }, null);
  });
}

const noted = (
  client: pg.PoolClient,
  { conferenceId, personId }: PersonActing,
  subjectId: string,
  action: string,
  before: object | null,
  after: object | null,
) =>
  appendAudit(client, {
    conferenceId,
    actorId: personId,
    action,
    subjectKind: 'quiz_question',
    subjectId,
    ...(before ? { before } : {}),
    ...(after ? { after } : {}),
  });

interface QuestionAsked {
  /** Question and version as results name them. */
  readonly item: string;
  readonly id: string;
  readonly label: string;
  readonly version: number;
  readonly text: string;
  readonly choices: string[];
  readonly answer: number;
}

/** Questions as they were worded when they were asked. */
export async function readVersions(
  db: Queryable,
  conferenceId: string,
  asked: readonly { readonly id: string; readonly version: number }[],
): Promise<QuestionAsked[]> {
  const { rows } = await db.query<QuestionAsked>(
    `SELECT q.id || ' ' || v.version AS item, q.id, q.label, v.version, v.text, v.choices, v.answer
       FROM unnest($2::uuid[], $3::int[]) AS n (id, version)
       JOIN quiz_question q ON q.conference_id = $1 AND q.id = n.id
       JOIN quiz_question_version v ON v.conference_id = $1 AND v.question_id = n.id AND v.version = n.version`,
    [conferenceId, asked.map(({ id }) => id), asked.map(({ version }) => version)],
  );
  return rows;
}

/** The rules book that the conference plays by where a season does not say otherwise. */
export async function codeOf({ prisma }: Pick<Database, 'prisma'>, conferenceId: string): Promise<string> {
  const { code } = await prisma.conference.findUniqueOrThrow({
    where: { id: conferenceId },
    select: { code: true },
  });
  return code;
}
