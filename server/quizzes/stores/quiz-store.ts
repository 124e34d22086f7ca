import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { crewOfSeason, officialsMeant, settledAudience } from '../../knowledge/audience.ts';
import { conflict, invalid } from '../../web/problem.ts';
import { mostInPool, mostQuestions } from '../rules/question.ts';
import type { Quiz, QuizFrame } from '../rules/quiz.ts';
import { notedOfQuiz } from './noted.ts';
import { mustBeOpen, readQuiz } from './quiz-rows.ts';
import { tellOfQuiz } from './tell-of-quiz.ts';

/** Makes a quiz that nobody is told of yet. @throws Problem 400 when the season has no such crew */
export async function createQuiz(
  pool: pg.Pool,
  acting: PersonActing,
  seasonId: string,
  frame: QuizFrame,
  questionIds: readonly string[] = [],
): Promise<string> {
  return inTransaction(pool, async (client) => {
    const { audience, positions, crewId } = await audienceOf(client, acting.conferenceId, seasonId, frame);
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO quiz (conference_id, season_id, title, opens_at, closes_at, minutes, starts, hours_between, counts, draws,
                         audience, positions, crew_id, made_by)
       VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14) RETURNING id`,
      [
        ...[acting.conferenceId, seasonId, frame.title, frame.opensAt, frame.closesAt, frame.minutes],
        ...[frame.starts, frame.hoursBetween, frame.counts, frame.draws, audience],
        ...[JSON.stringify(positions), crewId, acting.personId],
      ],
    );
    const { id } = rows[0]!;
    if (questionIds.length > 0) await writePool(client, acting.conferenceId, id, questionIds);
    await notedOfQuiz(client, acting, id, 'quiz made', null, { ...frame, seasonId, questions: questionIds });
    return id;
  });
}

async function audienceOf(client: Queryable, conferenceId: string, seasonId: string, frame: QuizFrame) {
  const settled = settledAudience(frame);
  if (settled.crewId !== null && !(await crewOfSeason(client, conferenceId, seasonId, settled.crewId)))
    throw invalid([{ field: 'crewId', message: 'is no crew of this season' }]);
  return settled;
}

/** Runs `work` on a quiz held until it is done. @throws Problem 404, 409 once it is announced */
async function changeDraft(
  pool: pg.Pool,
  acting: PersonActing,
  quizId: string,
  work: (client: pg.PoolClient, quiz: Quiz) => Promise<void>,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const quiz = await readQuiz(client, acting.conferenceId, quizId, 'lock');
    if (quiz.announcedAt !== null)
      throw conflict('This quiz was announced: what was announced stays. It can only be made longer.');
    await work(client, quiz);
  });
}

/** @throws Problem 404, 409 once it is announced, 400 */
export function changeQuiz(
  pool: pg.Pool,
  acting: PersonActing,
  quizId: string,
  frame: QuizFrame,
): Promise<void> {
  return changeDraft(pool, acting, quizId, async (client, quiz) => {
    const { audience, positions, crewId } = await audienceOf(
      client,
      acting.conferenceId,
      quiz.seasonId,
      frame,
    );
    await client.query(
      `UPDATE quiz SET title = $3, opens_at = $4, closes_at = $5, minutes = $6, starts = $7, hours_between = $8, counts = $9,
              draws = $10, audience = $11, positions = $12, crew_id = $13
        WHERE conference_id = $1 AND id = $2`,
      [
        ...[acting.conferenceId, quizId, frame.title, frame.opensAt, frame.closesAt, frame.minutes],
        ...[frame.starts, frame.hoursBetween, frame.counts, frame.draws, audience],
        ...[JSON.stringify(positions), crewId],
      ],
    );
    await notedOfQuiz(client, acting, quizId, 'quiz changed', quiz, frame);
  });
}

/** Says which questions it asks or draws from, in order. @throws Problem 400 for one that is not in the bank, 404, 409 */
export function putPool(
  pool: pg.Pool,
  acting: PersonActing,
  quizId: string,
  questionIds: readonly string[],
): Promise<void> {
  return changeDraft(pool, acting, quizId, async (client) => {
    await client.query('DELETE FROM quiz_pool WHERE conference_id = $1 AND quiz_id = $2', [
      ...[acting.conferenceId, quizId],
    ]);
    await writePool(client, acting.conferenceId, quizId, questionIds);
    await notedOfQuiz(client, acting, quizId, 'quiz: questions chosen', null, { questions: questionIds });
  });
}

async function writePool(
  client: Queryable,
  conferenceId: string,
  quizId: string,
  questionIds: readonly string[],
): Promise<void> {
  const ids = [...new Set(questionIds)];
  if (ids.length > mostInPool)
    throw invalid([{ field: 'questions', message: `are more than ${mostInPool}; choose fewer` }]);
  const { rowCount } = await client.query(
    `INSERT INTO quiz_pool (conference_id, quiz_id, question_id, place)
     SELECT $1, $2, q.id, n.place FROM unnest($3::uuid[]) WITH ORDINALITY AS n (id, place)
       JOIN quiz_question q ON q.conference_id = $1 AND q.id = n.id AND q.retired_at IS NULL`,
    [conferenceId, quizId, ids],
  );
  if (rowCount !== ids.length)
    throw invalid([{ field: 'questions', message: 'name one that is not in the bank, or is retired' }]);
}

/**
 * Announces it: officials are told what it asks for and what counts, which from now on stays.
 *
 * @throws Problem 404, 409 where it has too few questions, nobody is meant, or its window has passed
 */
export function announceQuiz(pool: pg.Pool, acting: PersonActing, quizId: string, now: Date): Promise<void> {
  const { conferenceId } = acting;
  return changeDraft(pool, acting, quizId, async (client, quiz) => {
    // Held against a weight that is announced just now: it must come before the season's first quiz opens.
    await client.query('SELECT FROM season WHERE conference_id = $1 AND id = $2 FOR UPDATE', [
      ...[conferenceId, quiz.seasonId],
    ]);
    if (quiz.pool === 0) throw conflict('This quiz has no question yet; choose some first.');
    if (quiz.draws !== null && quiz.draws > quiz.pool)
      throw conflict(`It draws ${quiz.draws} questions of ${quiz.pool}; choose more, or draw fewer.`);
    if (quiz.draws === null && quiz.pool > mostQuestions)
      throw conflict(`A quiz asks ${mostQuestions} questions at most; draw some of them.`);
    if (quiz.closesAt <= now) throw conflict('Its window has passed; say when it opens and closes.');
    const meant = await officialsMeant(client, conferenceId, quiz.seasonId, quiz);
    if (meant.length === 0) throw conflict('There is no active official whom it is for.');
    await client.query('UPDATE quiz SET announced_at = $3 WHERE conference_id = $1 AND id = $2', [
      ...[conferenceId, quizId, now],
    ]);
    await addTakers(client, acting, quiz, meant);
    await notedOfQuiz(client, acting, quizId, 'quiz announced', null, { officials: meant });
  });
}

async function addTakers(
  client: Queryable,
  { conferenceId }: PersonActing,
  quiz: Quiz,
  officials: readonly string[],
): Promise<void> {
  await client.query(
    'INSERT INTO quiz_taker (conference_id, quiz_id, official_id) SELECT $1, $2, unnest($3::uuid[])',
    [conferenceId, quiz.id, officials],
  );
  await tellOfQuiz(client, conferenceId, quiz, officials, 'announced');
}

/** Adds officials who belong to it by now and were not told. @returns how many */
export function addNewcomers(pool: pg.Pool, acting: PersonActing, quizId: string): Promise<number> {
  return inTransaction(pool, async (client) => {
    const quiz = await readQuiz(client, acting.conferenceId, quizId, 'lock');
    if (quiz.announcedAt === null) throw conflict('This quiz was not announced yet.');
    mustBeOpen(quiz);
    const meant = await officialsMeant(client, acting.conferenceId, quiz.seasonId, quiz);
    const { rows } = await client.query<{ id: string }>(
      `SELECT n.id FROM unnest($3::uuid[]) AS n (id) WHERE NOT EXISTS (SELECT FROM quiz_taker t
         WHERE t.conference_id = $1 AND t.quiz_id = $2 AND t.official_id = n.id)`,
      [acting.conferenceId, quizId, meant],
    );
    const fresh = rows.map(({ id }) => id);
    if (fresh.length > 0) {
      await addTakers(client, acting, quiz, fresh);
      await notedOfQuiz(client, acting, quizId, 'quiz: officials added', null, { officials: fresh });
    }
    return fresh.length;
  });
}

/**
 * Takes an announced quiz back, to be changed: only while nobody has begun it. Who was told is told so.
 *
 * @throws Problem 404, 409
 */
export async function withdrawQuiz(pool: pg.Pool, acting: PersonActing, quizId: string): Promise<void> {
  const { conferenceId } = acting;
  await inTransaction(pool, async (client) => {
    const quiz = await readQuiz(client, conferenceId, quizId, 'lock');
    if (quiz.announcedAt === null) throw conflict('This quiz was not announced yet.');
    const { rows } = await client.query<{ id: string }>(
      `SELECT official_id AS id FROM quiz_taker WHERE conference_id = $1 AND quiz_id = $2 ORDER BY official_id FOR UPDATE`,
      [conferenceId, quizId],
    );
    // Who begins holds their own row first: what is asked now is what they left.
    if ((await readQuiz(client, conferenceId, quizId)).begun)
      throw conflict(
        'Somebody has begun this quiz: it stays as it was announced. It can only be made longer.',
      );
    await client.query('DELETE FROM quiz_taker WHERE conference_id = $1 AND quiz_id = $2', [
      conferenceId,
      quizId,
    ]);
    await client.query('UPDATE quiz SET announced_at = NULL WHERE conference_id = $1 AND id = $2', [
      ...[conferenceId, quizId],
    ]);
    const officials = rows.map(({ id }) => id);
    await tellOfQuiz(client, conferenceId, quiz, officials, 'withdrawn');
    await notedOfQuiz(client, acting, quizId, 'quiz taken back', { announcedAt: quiz.announcedAt }, null);
  });
}

/** Removes a quiz that nobody was told of. @throws Problem 404, 409 */
export function removeQuiz(pool: pg.Pool, acting: PersonActing, quizId: string): Promise<void> {
  return changeDraft(pool, acting, quizId, async (client, { title }) => {
    await client.query('DELETE FROM quiz WHERE conference_id = $1 AND id = $2', [
      acting.conferenceId,
      quizId,
    ]);
    await notedOfQuiz(client, acting, quizId, 'quiz removed', { title }, null);
  });
}
