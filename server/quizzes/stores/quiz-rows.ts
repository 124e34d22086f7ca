import type { Queryable } from '../../database/transaction.ts';
import { conflict, notFound } from '../../web/problem.ts';
import type { Quiz } from '../rules/quiz.ts';
import { answersShownFrom, type Sat } from '../rules/sitting.ts';

const columns = `z.id, z.season_id AS "seasonId", z.title, z.opens_at AS "opensAt", z.closes_at AS "closesAt", z.minutes,
  z.starts, z.hours_between AS "hoursBetween", z.counts, z.draws, z.audience, z.positions, z.crew_id AS "crewId",
  z.announced_at AS "announcedAt",
  (SELECT s.state = 'closed' FROM season s WHERE s.conference_id = z.conference_id AND s.id = z.season_id) AS "closedSeason",
  EXISTS (SELECT FROM quiz_attempt a WHERE a.conference_id = z.conference_id AND a.quiz_id = z.id) AS begun,
  (SELECT count(*)::int FROM quiz_pool p WHERE p.conference_id = z.conference_id AND p.quiz_id = z.id) AS pool`;

/** @throws Problem 404 when the conference has no such quiz. @param lock holds it until the transaction ends */
export async function readQuiz(
  db: Queryable,
  conferenceId: string,
  quizId: string,
  lock: 'lock' | null = null,
): Promise<Quiz> {
  const { rows } = await db.query<Quiz>(
    `SELECT ${columns} FROM quiz z WHERE z.conference_id = $1 AND z.id = $2 ${lock ? 'FOR UPDATE OF z' : ''}`,
    [conferenceId, quizId],
  );
  if (!rows[0]) throw notFound('quiz');
  return rows[0];
}

/** @throws Problem 409 where its season is closed */
export function mustBeOpen({ closedSeason }: Quiz): void {
  if (closedSeason) throw conflict('The season of this quiz is closed: it stays as it is.');
}

interface QuizLine extends Quiz {
  readonly takers: number;
  /** Officials with a sitting that has ended. */
  readonly taken: number;
}

/** A season's quizzes, the newest first. */
export async function listQuizzes(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<QuizLine[]> {
  const { rows } = await db.query<QuizLine>(
    `SELECT ${columns},
            (SELECT count(*)::int FROM quiz_taker t WHERE t.conference_id = $1 AND t.quiz_id = z.id) AS takers,
            (SELECT count(DISTINCT a.official_id)::int FROM quiz_attempt a
              WHERE a.conference_id = $1 AND a.quiz_id = z.id AND a.ended_at IS NOT NULL) AS taken
       FROM quiz z WHERE z.conference_id = $1 AND z.season_id = $2 ORDER BY z.opens_at DESC, z.id`,
    [conferenceId, seasonId],
  );
  return rows;
}

interface PoolQuestion {
  readonly id: string;
  readonly label: string;
  readonly text: string;
  readonly version: number;
  readonly code: string;
  /** In ended sittings of any quiz, of the newest version. */
  readonly asked: number;
  readonly right: number;
}

/** What a quiz asks or draws from, in order, each in its newest version. */
export async function readPool(db: Queryable, conferenceId: string, quizId: string): Promise<PoolQuestion[]> {
  const { rows } = await db.query<PoolQuestion>(
    `SELECT q.id, q.label, v.text, v.version, v.code, coalesce(n.asked, 0) AS asked, coalesce(n."right", 0) AS "right"
       FROM quiz_pool p
       JOIN quiz_question q ON q.conference_id = p.conference_id AND q.id = p.question_id
       JOIN LATERAL (SELECT * FROM quiz_question_version v WHERE v.conference_id = q.conference_id AND v.question_id = q.id
                      ORDER BY v.version DESC LIMIT 1) v ON true
       LEFT JOIN LATERAL (SELECT count(*)::int AS asked, count(*) FILTER (WHERE a.choice = v.answer)::int AS "right"
           FROM quiz_answer a
           JOIN quiz_attempt t ON t.conference_id = a.conference_id AND t.id = a.attempt_id AND t.ended_at IS NOT NULL
          WHERE a.conference_id = q.conference_id AND a.question_id = q.id AND a.version = v.version) n ON true
      WHERE p.conference_id = $1 AND p.quiz_id = $2 ORDER BY p.place`,
    [conferenceId, quizId],
  );
  return rows;
}

interface Taker {
  readonly officialId: string;
  readonly name: string;
  readonly extraMinutes: number;
  readonly extraStarts: number;
  readonly openUntil: Date | null;
  readonly reason: string;
}

/** @throws Problem 404 where the official was not told of the quiz */
export async function readTaker(
  db: Queryable,
  conferenceId: string,
  quizId: string,
  officialId: string,
  lock: 'lock' | null = null,
): Promise<Taker> {
  const { rows } = await db.query<Taker>(
    `SELECT t.official_id AS "officialId", '' AS name, t.extra_minutes AS "extraMinutes", t.extra_starts AS "extraStarts",
            t.open_until AS "openUntil", t.reason
       FROM quiz_taker t WHERE t.conference_id = $1 AND t.quiz_id = $2 AND t.official_id = $3 ${lock ? 'FOR UPDATE' : ''}`,
    [conferenceId, quizId, officialId],
  );
  if (!rows[0]) throw notFound('quiz');
  return rows[0];
}

/** The quizzes of all seasons that an official was told of, what opened last first. */
export async function quizzesOfTaker(db: Queryable, conferenceId: string, officialId: string) {
  const { rows } = await db.query<{ quizId: string; season: string }>(
    `SELECT t.quiz_id AS "quizId", s.name AS season FROM quiz_taker t
       JOIN quiz z ON z.conference_id = t.conference_id AND z.id = t.quiz_id
       JOIN season s ON s.conference_id = z.conference_id AND s.id = z.season_id
      WHERE t.conference_id = $1 AND t.official_id = $2 ORDER BY z.opens_at DESC`,
    [conferenceId, officialId],
  );
  return rows;
}

/** A quiz's officials by name, with what each has sat of it. */
export async function readTakers(
  db: Queryable,
  conferenceId: string,
  quizId: string,
): Promise<(Taker & Sat & { readonly lastEnded: Date | null })[]> {
  const { rows } = await db.query<Taker & Sat & { lastEnded: Date | null }>(
    `SELECT t.official_id AS "officialId", p.given_name || ' ' || p.family_name AS name, t.extra_minutes AS "extraMinutes",
            t.extra_starts AS "extraStarts", t.open_until AS "openUntil", t.reason, a.*
       FROM quiz_taker t JOIN person p ON p.conference_id = t.conference_id AND p.id = t.official_id
      CROSS JOIN LATERAL (
            SELECT (count(*) FILTER (WHERE ended_at IS NOT NULL))::int AS ended,
                   max(begun_at) FILTER (WHERE ended_at IS NULL) AS "begunAt", max(ended_at) AS "lastEnded"
              FROM quiz_attempt WHERE conference_id = $1 AND quiz_id = $2 AND official_id = t.official_id) a
      WHERE t.conference_id = $1 AND t.quiz_id = $2 ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, quizId],
  );
  return rows;
}

/** From when on officials are shown the answers of a quiz, as it stands now. */
export const readAnswersShownFrom = async (db: Queryable, conferenceId: string, quiz: Quiz): Promise<Date> =>
  answersShownFrom(quiz, await readTakers(db, conferenceId, quiz.id));
