import { randomInt } from 'node:crypto';
import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import { firstDraw, redraw } from '../rules/draw.ts';
import { endOfSitting, mayBegin } from '../rules/sitting.ts';
import { notBegunBecause } from '../rules/sitting-words.ts';
import { notedOfQuiz } from './noted.ts';
import { readPool, readQuiz, readTaker } from './quiz-rows.ts';
import { readSittings, type Sitting } from './sitting-rows.ts';

/**
 * Ends the sittings whose time is over, at the moment at which it was: what was answered by then is handed in.
 *
 * @param of those of one quiz; left out, of all conferences
 * @returns how many ended
 */
export async function endSittings(
  db: Queryable,
  now: Date,
  of?: { readonly conferenceId: string; readonly quizId: string },
): Promise<number> {
  // The same arithmetic as endOfSitting; tests/quizzes holds the two together.
  const { rowCount } = await db.query(
    `WITH over AS (
       SELECT a.conference_id, a.id, least(
                a.begun_at + make_interval(mins => z.minutes + t.extra_minutes),
                greatest(z.closes_at, t.open_until) + make_interval(mins => t.extra_minutes)) AS ends
         FROM quiz_attempt a
         JOIN quiz z ON z.conference_id = a.conference_id AND z.id = a.quiz_id
         JOIN quiz_taker t ON t.conference_id = a.conference_id AND t.quiz_id = a.quiz_id AND t.official_id = a.official_id
        WHERE a.ended_at IS NULL AND ($2::uuid IS NULL OR a.conference_id = $2 AND a.quiz_id = $3))
     UPDATE quiz_attempt a SET ended_at = o.ends, ended_by = 'time' FROM over o
      WHERE a.conference_id = o.conference_id AND a.id = o.id AND a.ended_at IS NULL AND o.ends <= $1`,
    [now, of?.conferenceId ?? null, of?.quizId ?? null],
  );
  return rowCount ?? 0;
}

/**
 * Begins a sitting: its questions are drawn and its time runs from now.
 *
 * @throws Problem 404 where the official was not told of it, 409 with the sentence why not
 */
export function beginSitting(pool: pg.Pool, acting: PersonActing, quizId: string, now: Date): Promise<void> {
  const { conferenceId, personId } = acting;
  return inTransaction(pool, async (client) => {
    const taker = await readTaker(client, conferenceId, quizId, personId, 'lock');
    const quiz = await readQuiz(client, conferenceId, quizId);
    await endSittings(client, now, { conferenceId, quizId });
    const sittings = await readSittings(client, conferenceId, quizId, personId);
    if (sittings.some(({ endedAt }) => endedAt === null)) return;
    const may = mayBegin(quiz, taker, sittings, now);
    if (!may.may) throw conflict(notBegunBecause[may.because]);
    await seasonIsOpen(client, conferenceId, quiz.seasonId);
    const bank = await readPool(client, conferenceId, quizId);
    const choose = (count: number) => randomInt(count);
    const questions =
      sittings.length === 0
        ? firstDraw(bank, quiz.draws, choose)
        : redraw(
            bank,
            quiz.draws,
            sittings.map(({ answers }) => answers.map(({ questionId }) => questionId)),
            choose,
          ).questions;
    // Held against a change of what they say until they are noted as asked.
    await client.query(
      'SELECT FROM quiz_question WHERE conference_id = $1 AND id = ANY ($2::uuid[]) ORDER BY id FOR SHARE',
      [...[conferenceId, questions.map(({ id }) => id)]],
    );
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO quiz_attempt (conference_id, quiz_id, official_id, number, begun_at) VALUES ($1, $2, $3, $4, $5)
       RETURNING id`,
      [conferenceId, quizId, personId, may.number, now],
    );
    await client.query(
      `INSERT INTO quiz_answer (conference_id, attempt_id, place, question_id, version)
       SELECT $1, $2, n.place, n.id, (SELECT max(v.version) FROM quiz_question_version v
                WHERE v.conference_id = $1 AND v.question_id = n.id)
         FROM unnest($3::uuid[]) WITH ORDINALITY AS n (id, place)`,
      [conferenceId, rows[0]!.id, questions.map(({ id }) => id)],
    );
    await notedOfQuiz(client, acting, quizId, 'quiz begun', null, { number: may.number });
  });
}

async function seasonIsOpen(client: Queryable, conferenceId: string, seasonId: string): Promise<void> {
  const { rows } = await client.query<{ state: string }>(
    'SELECT state FROM season WHERE conference_id = $1 AND id = $2 FOR SHARE',
    [conferenceId, seasonId],
  );
  if (rows[0]?.state === 'closed') throw conflict('The season of this quiz is closed.');
}

/** The official's own sitting that goes on. */
async function running(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  quizId: string,
): Promise<Sitting & { readonly endsAt: Date }> {
  const taker = await readTaker(client, conferenceId, quizId, personId, 'lock');
  const quiz = await readQuiz(client, conferenceId, quizId);
  const last = (await readSittings(client, conferenceId, quizId, personId)).at(-1);
  if (!last) throw conflict('You have not begun this quiz.');
  return { ...last, endsAt: last.endedAt ?? endOfSitting(quiz, taker, last.begunAt) };
}

/** `late`: answers that were not the same as what was kept in time. */
export type Kept =
  | { readonly kept: true; readonly endsAt: Date }
  | { readonly kept: false; readonly endedAt: Date; readonly late: number };

/**
 * Keeps answers of the sitting that goes on. What comes after its end counts nothing and is kept apart.
 *
 * @param choices by the place of the question, the choice from 0
 * @throws Problem 400 for a place or choice that is not there, 404, 409 where none was begun
 */
export function keepAnswers(
  pool: pg.Pool,
  acting: PersonActing,
  quizId: string,
  choices: ReadonlyMap<number, number>,
  now: Date,
): Promise<Kept> {
  return inTransaction(pool, async (client) => {
    const sitting = await running(client, acting, quizId);
    for (const [place, choice] of choices) {
      const asked = sitting.answers.find((one) => one.place === place);
      if (!asked) throw notFound('question of this sitting');
      if (choice >= asked.choices.length) throw invalid([{ field: 'choice', message: 'is not there' }]);
    }
    const late = sitting.endedAt !== null || now >= sitting.endsAt;
    let apart = 0;
    for (const [place, choice] of choices) {
      if (late && sitting.answers.find((one) => one.place === place)!.choice === choice) continue;
      apart += Number(late);
      await client.query(
        late
          ? `UPDATE quiz_answer SET late_choice = $4, late_at = $5 WHERE conference_id = $1 AND attempt_id = $2 AND place = $3`
          : `UPDATE quiz_answer SET choice = $4, answered_at = $5 WHERE conference_id = $1 AND attempt_id = $2 AND place = $3`,
        [acting.conferenceId, sitting.id, place, choice, now],
      );
    }
    if (late) await endSittings(client, now, { conferenceId: acting.conferenceId, quizId });
    return late
      ? { kept: false, endedAt: sitting.endsAt, late: apart }
      : { kept: true, endsAt: sitting.endsAt };
  });
}

/** Hands the sitting in that goes on. One that has ended already stays as it ended. @throws Problem 404, 409 */
export function handIn(pool: pg.Pool, acting: PersonActing, quizId: string, now: Date): Promise<void> {
  return inTransaction(pool, async (client) => {
    await endSittings(client, now, { conferenceId: acting.conferenceId, quizId });
    const sitting = await running(client, acting, quizId);
    if (sitting.endedAt !== null) return;
    await client.query(
      `UPDATE quiz_attempt SET ended_at = $3, ended_by = 'official' WHERE conference_id = $1 AND id = $2`,
      [acting.conferenceId, sitting.id, now],
    );
    await notedOfQuiz(client, acting, quizId, 'quiz handed in', null, { number: sitting.number });
  });
}
