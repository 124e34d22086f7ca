import type { Queryable } from '../database/transaction.ts';
import type { Counts } from './counting.ts';
import type { TakenAnswer, TakenSitting } from './quiz-results.ts';

type Row = TakenAnswer & { quizId: string; officialId: string; number: number };

/** Sittings that have ended, by quiz. */
export async function readTaken(
  db: Queryable,
  conferenceId: string,
  quizIds: readonly string[],
): Promise<Map<string, TakenSitting[]>> {
  const { rows } = await db.query<Row>(
    `SELECT t.quiz_id AS "quizId", t.official_id AS "officialId", t.number, a.question_id || ' ' || a.version AS item,
            jsonb_array_length(v.choices) AS choices, v.answer, a.choice
       FROM quiz_attempt t
       JOIN quiz_answer a ON a.conference_id = t.conference_id AND a.attempt_id = t.id
       JOIN quiz_question_version v
         ON v.conference_id = a.conference_id AND v.question_id = a.question_id AND v.version = a.version
      WHERE t.conference_id = $1 AND t.quiz_id = ANY ($2::uuid[]) AND t.ended_at IS NOT NULL
      ORDER BY t.quiz_id, t.official_id, t.number, a.place`,
    [conferenceId, quizIds],
  );
  const found = new Map<string, TakenSitting[]>();
  for (const { quizId, officialId, number, ...answer } of rows) {
    const of = found.get(quizId) ?? [];
    found.set(quizId, of);
    const last = of.at(-1);
    if (last?.officialId === officialId && last.number === number)
      (last.answers as TakenAnswer[]).push(answer);
    else of.push({ officialId, number, answers: [answer] });
  }
  return found;
}

interface AnnouncedQuiz {
  readonly id: string;
  readonly title: string;
  readonly opensAt: Date;
  readonly closesAt: Date;
  readonly counts: Counts;
}

/** A season's quizzes that officials were told of, by when they open. */
export async function readAnnounced(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<AnnouncedQuiz[]> {
  const { rows } = await db.query<AnnouncedQuiz>(
    `SELECT id, title, opens_at AS "opensAt", closes_at AS "closesAt", counts FROM quiz
      WHERE conference_id = $1 AND season_id = $2 AND announced_at IS NOT NULL ORDER BY opens_at, id`,
    [conferenceId, seasonId],
  );
  return rows;
}

/** The same quizzes, each with its sittings that have ended. */
export async function readSeasonTaken(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<(AnnouncedQuiz & { readonly sittings: readonly TakenSitting[] })[]> {
  const announced = await readAnnounced(db, conferenceId, seasonId);
  const taken = await readTaken(
    db,
    conferenceId,
    announced.map(({ id }) => id),
  );
  return announced.map((quiz) => ({ ...quiz, sittings: taken.get(quiz.id) ?? [] }));
}
