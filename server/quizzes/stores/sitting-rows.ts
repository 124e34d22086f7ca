import type { Queryable } from '../../database/transaction.ts';

export interface Asked {
  readonly place: number;
  readonly questionId: string;
  readonly version: number;
  readonly text: string;
  readonly choices: readonly string[];
  /** The right choice, from 0; for the server alone until answers are shown. */
  readonly answer: number;
  readonly explanation: string;
  readonly rule: string;
  readonly mechanic: string;
  readonly choice: number | null;
  readonly lateChoice: number | null;
}

export interface Sitting {
  readonly id: string;
  readonly number: number;
  readonly begunAt: Date;
  readonly endedAt: Date | null;
  readonly endedBy: 'official' | 'time' | null;
  readonly answers: readonly Asked[];
}

/** An official's sittings of a quiz, in order, with all that was asked. */
export async function readSittings(
  db: Queryable,
  conferenceId: string,
  quizId: string,
  officialId: string,
): Promise<Sitting[]> {
  const { rows } = await db.query<Omit<Sitting, 'answers'>>(
    `SELECT id, number, begun_at AS "begunAt", ended_at AS "endedAt", ended_by AS "endedBy" FROM quiz_attempt
      WHERE conference_id = $1 AND quiz_id = $2 AND official_id = $3 ORDER BY number`,
    [conferenceId, quizId, officialId],
  );
  if (rows.length === 0) return [];
  const answers = await db.query<Asked & { attemptId: string }>(
    `SELECT a.attempt_id AS "attemptId", a.place, a.question_id AS "questionId", a.version, v.text, v.choices, v.answer,
            v.explanation, v.rule, v.mechanic, a.choice, a.late_choice AS "lateChoice"
       FROM quiz_answer a
       JOIN quiz_question_version v
         ON v.conference_id = a.conference_id AND v.question_id = a.question_id AND v.version = a.version
      WHERE a.conference_id = $1 AND a.attempt_id = ANY ($2::uuid[]) ORDER BY a.place`,
    [conferenceId, rows.map(({ id }) => id)],
  );
  return rows.map((one) => ({
    ...one,
    answers: answers.rows.filter(({ attemptId }) => attemptId === one.id),
  }));
}
