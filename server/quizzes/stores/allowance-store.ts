import type pg from 'pg';
import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { inTransaction } from '../../database/transaction.ts';
import { groupBy } from '../../grading/group-by.ts';
import { typedText } from '../../text/typed-text.ts';
import { conflict, invalid } from '../../web/problem.ts';
import { wholeNumber } from '../../web/whole-number.ts';
import { quizFields } from '../rules/quiz.ts';
import { notedOfQuiz } from './noted.ts';
import { mustBeOpen, readQuiz, readTaker, readTakers } from './quiz-rows.ts';
import { endSittings } from './sitting-store.ts';
import { quizFor, tellOfQuiz } from './tell-of-quiz.ts';

export const longerSchema = z.object({ closesAt: quizFields.closesAt, minutes: quizFields.minutes });

export const allowanceSchema = z.object({
  extraMinutes: wholeNumber('extraMinutes', 0, 600).default(0),
  extraStarts: wholeNumber('extraStarts', 0, 5).default(0),
  openUntil: quizFields.closesAt.nullable().default(null),
  reason: typedText({ least: 1, most: 500, tooShort: 'give the reason; it is kept with the history' }),
});

/**
 * Gives everybody more time: a later end, more minutes, or both. Sittings that have ended stay ended.
 *
 * @throws Problem 400 where it would be shorter, 404, 409
 */
export async function makeLonger(
  pool: pg.Pool,
  acting: PersonActing,
  quizId: string,
  { closesAt, minutes }: z.output<typeof longerSchema>,
  now: Date,
): Promise<void> {
  const { conferenceId } = acting;
  await inTransaction(pool, async (client) => {
    const quiz = await readQuiz(client, conferenceId, quizId, 'lock');
    mustBeOpen(quiz);
    if (quiz.announcedAt === null) throw conflict('This quiz was not announced yet: change it as you like.');
    if (closesAt < quiz.closesAt)
      throw invalid([{ field: 'closesAt', message: 'can only be later than what was announced' }]);
    if (minutes < quiz.minutes)
      throw invalid([{ field: 'minutes', message: `can only be more than the ${quiz.minutes} announced` }]);
    if (closesAt.getTime() === quiz.closesAt.getTime() && minutes === quiz.minutes) return;
    await endSittings(client, now, { conferenceId, quizId });
    await client.query('UPDATE quiz SET closes_at = $3, minutes = $4 WHERE conference_id = $1 AND id = $2', [
      ...[conferenceId, quizId, closesAt, minutes],
    ]);
    const longer = { ...quiz, closesAt, minutes };
    const alike = groupBy(
      await readTakers(client, conferenceId, quizId),
      ({ extraMinutes, extraStarts, openUntil }) => `${extraMinutes} ${extraStarts} ${openUntil?.getTime()}`,
    );
    for (const takers of alike.values()) {
      const [was, is] = [quizFor(quiz, takers[0]!), quizFor(longer, takers[0]!)];
      // Who had a later end of their own gains nothing by a later one for all.
      if (is.closesAt > was.closesAt || is.minutes > was.minutes)
        await tellOfQuiz(
          client,
          conferenceId,
          is,
          takers.map(({ officialId }) => officialId),
          'longer',
        );
    }
    const before = { closesAt: quiz.closesAt, minutes: quiz.minutes };
    await notedOfQuiz(client, acting, quizId, 'quiz made longer', before, { closesAt, minutes });
  });
}

/**
 * Gives one official more minutes, another start, or a later end, with the reason. They are told.
 *
 * @throws Problem 404 where they were not told of the quiz, 409 where it is not announced
 */
export async function giveMore(
  pool: pg.Pool,
  acting: PersonActing,
  quizId: string,
  officialId: string,
  given: z.output<typeof allowanceSchema>,
  now: Date,
): Promise<void> {
  const { conferenceId } = acting;
  await inTransaction(pool, async (client) => {
    const quiz = await readQuiz(client, conferenceId, quizId, 'lock');
    mustBeOpen(quiz);
    const before = await readTaker(client, conferenceId, quizId, officialId, 'lock');
    if (given.extraMinutes < before.extraMinutes || given.extraStarts < before.extraStarts)
      throw invalid([{ field: 'extraMinutes', message: 'what was given stays: give as much or more' }]);
    const openUntil = given.openUntil ?? before.openUntil;
    await endSittings(client, now, { conferenceId, quizId });
    await client.query(
      `UPDATE quiz_taker SET extra_minutes = $4, extra_starts = $5, open_until = $6, reason = $7
        WHERE conference_id = $1 AND quiz_id = $2 AND official_id = $3`,
      [
        ...[conferenceId, quizId, officialId, given.extraMinutes, given.extraStarts],
        ...[openUntil, given.reason],
      ],
    );
    await tellOfQuiz(client, conferenceId, quizFor(quiz, { ...given, openUntil }), [officialId], 'for you');
    await notedOfQuiz(
      client,
      acting,
      quizId,
      'quiz: more for one official',
      { ...before, name: undefined },
      { officialId, ...given },
      given.reason,
    );
  });
}
