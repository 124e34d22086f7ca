import type { Queryable } from '../../server/database/transaction.ts';

/** A quiz of one question that an official has taken, put in by SQL; open for another day, answers not shown yet. */
export async function takenQuiz(
  db: Queryable,
  { conferenceId, seasonId, officialId }: { conferenceId: string; seasonId: string; officialId: string },
): Promise<{ quizId: string; questionId: string }> {
  const one = async (sql: string, values: unknown[]) =>
    (await db.query<{ id: string }>(sql, [conferenceId, ...values])).rows[0]!.id;
  const questionId = await one(
    'INSERT INTO quiz_question (conference_id, label) VALUES ($1, $2) RETURNING id',
    [`taken-${officialId.slice(-12)}`],
  );
  await db.query(
    `INSERT INTO quiz_question_version (conference_id, question_id, version, text, choices, answer, code, rule)
     VALUES ($1, $2, 1, 'Is the ball dead?', '["True", "False"]', 0, 'college', '4-1-3')`,
    [conferenceId, questionId],
  );
  const quizId = await one(
    `INSERT INTO quiz (conference_id, season_id, title, opens_at, closes_at, minutes, starts, announced_at)
     VALUES ($1, $2, 'August rules', now() - interval '1 day', now() + interval '1 day', 30, 2, now() - interval '2 days')
     RETURNING id`,
    [seasonId],
  );
  await db.query(
    'INSERT INTO quiz_pool (conference_id, quiz_id, question_id, place) VALUES ($1, $2, $3, 1)',
    [...[conferenceId, quizId, questionId]],
  );
  await db.query('INSERT INTO quiz_taker (conference_id, quiz_id, official_id) VALUES ($1, $2, $3)', [
    ...[conferenceId, quizId, officialId],
  ]);
  const attempt = await one(
    `INSERT INTO quiz_attempt (conference_id, quiz_id, official_id, number, begun_at)
     VALUES ($1, $2, $3, 1, now() - interval '2 hours') RETURNING id`,
    [quizId, officialId],
  );
  await db.query(
    `INSERT INTO quiz_answer (conference_id, attempt_id, place, question_id, version, choice, answered_at)
     VALUES ($1, $2, 1, $3, 1, 0, now() - interval '2 hours')`,
    [conferenceId, attempt, questionId],
  );
  await db.query(
    `UPDATE quiz_attempt SET ended_at = now() - interval '100 minutes', ended_by = 'official'
      WHERE conference_id = $1 AND id = $2`,
    [conferenceId, attempt],
  );
  return { quizId, questionId };
}
