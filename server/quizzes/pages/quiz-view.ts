import type { FastifyInstance } from 'fastify';
import type { Session } from '../../accounts/session.ts';
import { audienceInWords } from '../../knowledge/audience-form.ts';
import { countsWords } from '../../knowledge/counting.ts';
import { readWeight } from '../../knowledge/weight-store.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import type { FormErrors } from '../../web/form.ts';
import { localOf } from '../rules/local-time.ts';
import { type Quiz, quizState } from '../rules/quiz.ts';
import { answersShownFrom } from '../rules/sitting.ts';
import { listQuestions } from '../stores/bank-store.ts';
import { readPool, readQuiz, readTakers } from '../stores/quiz-rows.ts';
import { endSittings } from '../stores/sitting-store.ts';
import { quizForm, type quizOfForm } from './quiz-form.ts';
import { stateTone } from './quiz-list-pages.ts';

/** A quiz as its coordinator sees it. */
export async function quizView(
  app: FastifyInstance,
  session: Session,
  quizId: string,
  { values, errors }: { values?: ReturnType<typeof quizOfForm>; errors?: FormErrors },
) {
  const { pool } = app.database;
  const { conferenceId, timeZone } = session;
  const now = app.quizClock.now();
  await endSittings(pool, now, { conferenceId, quizId });
  const quiz = await readQuiz(pool, conferenceId, quizId);
  const season = await seasonOf(app.database, conferenceId, quiz.seasonId);
  const state = quizState(quiz, now);
  const draft = state === 'draft';
  return {
    quiz,
    season,
    state,
    tone: stateTone[state],
    draft,
    timeZone,
    withdrawable: !draft && !quiz.begun && !quiz.closedSeason,
    mayBeLonger: !draft,
    audience: await audienceInWords(pool, conferenceId, season.id, quiz),
    counts: countsWords[quiz.counts],
    questionsAsked: quiz.draws ?? quiz.pool,
    retakes: quiz.starts - 1,
    // A retake asks other questions as far as the pool has them.
    freshLeft: quiz.draws === null ? 0 : Math.max(0, quiz.pool - quiz.draws),
    weight: await readWeight(pool, conferenceId, season.id),
    closesLocal: localOf(quiz.closesAt, timeZone),
    ...(draft
      ? await draftView(app, session, quiz, values, errors)
      : await announcedView(app, session, quiz, now)),
    pool: await readPool(pool, conferenceId, quizId),
  };
}

async function draftView(
  app: FastifyInstance,
  session: Session,
  quiz: Quiz,
  values?: ReturnType<typeof quizOfForm>,
  errors?: FormErrors,
) {
  const { pool } = app.database;
  const chosen = new Set((await readPool(pool, session.conferenceId, quiz.id)).map(({ id }) => id));
  const bank = await listQuestions(pool, session.conferenceId);
  return {
    form: await quizForm(pool, session, quiz.seasonId, values ?? quiz, errors),
    wrong: errors !== undefined,
    bank: bank
      .filter(({ retiredAt }) => retiredAt === null)
      .map((one) => ({
        ...one,
        chosen: chosen.has(one.id),
        cites: [one.rule, one.mechanic].filter((text) => text !== '').join(' · '),
        share: one.asked > 0 ? one.right / one.asked : null,
      })),
  };
}

async function announcedView(app: FastifyInstance, { conferenceId }: Session, quiz: Quiz, now: Date) {
  const takers = await readTakers(app.database.pool, conferenceId, quiz.id);
  const shownFrom = answersShownFrom(quiz, takers);
  return {
    takers: takers.map((taker) => ({
      ...taker,
      running: taker.begunAt !== null,
      last: taker.lastEnded,
      allowed: quiz.starts + taker.extraStarts,
      hasMore: taker.reason !== '',
    })),
    shownFrom,
    answersAreShown: now >= shownFrom,
  };
}
