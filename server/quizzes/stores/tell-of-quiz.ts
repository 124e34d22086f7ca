import type { Queryable } from '../../database/transaction.ts';
import { countsWords } from '../../knowledge/counting.ts';
import { tell } from '../../messages/tell.ts';
import type { Quiz } from '../rules/quiz.ts';
import { type Allowance, closesFor, minutesFor } from '../rules/sitting.ts';

/** Tells officials of a quiz: what they are to know before they begin. */
export async function tellOfQuiz(
  client: Queryable,
  conferenceId: string,
  quiz: Quiz,
  personIds: readonly string[],
  what: 'announced' | 'longer' | 'for you' | 'withdrawn',
): Promise<void> {
  const { rows } = await client.query<{ timeZone: string; percent: number | null }>(
    `SELECT c.time_zone AS "timeZone", w.percent FROM conference c
       LEFT JOIN quiz_weight w ON w.conference_id = c.id AND w.season_id = $2 WHERE c.id = $1`,
    [conferenceId, quiz.seasonId],
  );
  const { timeZone, percent } = rows[0]!;
  await tell(client, {
    conferenceId,
    personIds,
    kind: 'quiz',
    aboutId: quiz.id,
    facts: {
      what,
      quizId: quiz.id,
      title: quiz.title,
      opensAt: quiz.opensAt.toISOString(),
      closesAt: quiz.closesAt.toISOString(),
      timeZone,
      minutes: quiz.minutes,
      questions: quiz.draws ?? quiz.pool,
      starts: quiz.starts,
      counts: quiz.starts > 1 ? countsWords[quiz.counts] : null,
      percent,
    },
  });
}

/** A quiz as it is for one official: until when, for how many minutes, and how often. */
export const quizFor = (quiz: Quiz, allowance: Allowance): Quiz => ({
  ...quiz,
  minutes: minutesFor(quiz, allowance),
  starts: quiz.starts + allowance.extraStarts,
  closesAt: closesFor(quiz, allowance),
});
