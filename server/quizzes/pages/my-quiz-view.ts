import type { FastifyInstance } from 'fastify';
import type { Session } from '../../accounts/session.ts';
import { countingSitting, countsWords } from '../../knowledge/counting.ts';
import { quizResult } from '../../knowledge/quiz-results.ts';
import { readTaken } from '../../knowledge/taken-store.ts';
import { readWeight } from '../../knowledge/weight-store.ts';
import { notFound } from '../../web/problem.ts';
import { letterOf } from '../rules/question.ts';
import { closesFor, endOfSitting, mayBegin, minutesFor } from '../rules/sitting.ts';
import { notBegunBecause } from '../rules/sitting-words.ts';
import { quizzesOfTaker, readAnswersShownFrom, readQuiz, readTaker } from '../stores/quiz-rows.ts';
import { type Asked, readSittings, type Sitting } from '../stores/sitting-rows.ts';
import { endSittings } from '../stores/sitting-store.ts';

/** Quizzes that an official was told of, those to do first. */
export async function ownQuizzes(app: FastifyInstance, { conferenceId, personId }: Session) {
  const { pool } = app.database;
  const now = app.quizClock.now();
  const lines = [];
  for (const { quizId, season } of await quizzesOfTaker(pool, conferenceId, personId)) {
    await endSittings(pool, now, { conferenceId, quizId });
    const quiz = await readQuiz(pool, conferenceId, quizId);
    const taker = await readTaker(pool, conferenceId, quizId, personId);
    const sittings = await readSittings(pool, conferenceId, quizId, personId);
    const may = mayBegin(quiz, taker, sittings, now);
    const ended = sittings.filter(({ endedAt }) => endedAt !== null);
    const counting = countingSitting(ended.map(scoreOf), quiz.counts);
    lines.push({
      id: quizId,
      title: quiz.title,
      season,
      opensAt: quiz.opensAt,
      closesAt: closesFor(quiz, taker),
      minutes: minutesFor(quiz, taker),
      running: sittings.length > ended.length,
      toDo: may.may && ended.length === 0,
      again: may.may && ended.length > 0,
      notYet: !may.may && may.because === 'not yet',
      result: counting && { right: counting.right, asked: counting.asked },
      missed: ended.length === 0 && !may.may && ['over', 'season closed'].includes(may.because),
    });
  }
  return lines.sort((a, b) => Number(b.running || b.toDo) - Number(a.running || a.toDo));
}

const scoreOf = ({ number, answers }: Sitting) => ({
  number,
  asked: answers.length,
  right: answers.filter(({ choice, answer }) => choice === answer).length,
});

/** One quiz as its official sees it: the sitting that goes on, or what it asks for and what came of it. */
export async function myQuizView(app: FastifyInstance, session: Session, quizId: string) {
  const { pool } = app.database;
  const { conferenceId, personId, timeZone } = session;
  const now = app.quizClock.now();
  const taker = await readTaker(pool, conferenceId, quizId, personId);
  const quiz = await readQuiz(pool, conferenceId, quizId);
  if (quiz.announcedAt === null) throw notFound('quiz');
  await endSittings(pool, now, { conferenceId, quizId });
  const sittings = await readSittings(pool, conferenceId, quizId, personId);
  const running = sittings.find(({ endedAt }) => endedAt === null);
  const shownFrom = await readAnswersShownFrom(pool, conferenceId, quiz);
  const may = mayBegin(quiz, taker, sittings, now);
  const allowed = quiz.starts + taker.extraStarts;
  const asked = quiz.draws ?? quiz.pool;
  const before = new Set(sittings.flatMap(({ answers }) => answers.map(({ questionId }) => questionId)));
  const fresh = quiz.draws === null ? 0 : Math.min(asked, quiz.pool - before.size);
  return {
    quiz,
    timeZone,
    asked,
    closesAt: closesFor(quiz, taker),
    minutes: minutesFor(quiz, taker),
    taker: { ...taker, hasMore: taker.reason !== '' },
    counts: countsWords[quiz.counts],
    several: allowed > 1,
    allowed,
    nextStart: sittings.length + 1,
    weight: await readWeight(pool, conferenceId, quiz.seasonId),
    shownFrom,
    retake: sittings.length > 0 && may.may ? { fresh, same: asked - fresh, asked } : null,
    may: may.may ? { minutes: may.minutes, fewer: may.minutes < minutesFor(quiz, taker) } : null,
    whyNot: may.may ? null : notBegunBecause[may.because],
    until: may.may ? null : (may.until ?? null),
    sitting: running && sittingView(running, endOfSitting(quiz, taker, running.begunAt), now),
    ...(sittings.length > 0 && !running
      ? await resultView(app, session, quizId, sittings, now >= shownFrom)
      : {}),
  };
}

function sittingView(sitting: Sitting, endsAt: Date, now: Date) {
  return {
    number: sitting.number,
    endsAt,
    secondsLeft: Math.max(0, Math.ceil((endsAt.getTime() - now.getTime()) / 1000)),
    answered: sitting.answers.filter(({ choice }) => choice !== null).length,
    questions: sitting.answers.map(({ place, text, choices, choice }) => ({
      place,
      text,
      choices: choices.map((words, at) => ({ at, letter: letterOf(at), text: words, chosen: choice === at })),
    })),
  };
}

async function resultView(
  app: FastifyInstance,
  { conferenceId, personId }: Session,
  quizId: string,
  sittings: readonly Sitting[],
  shown: boolean,
) {
  const { pool } = app.database;
  const quiz = await readQuiz(pool, conferenceId, quizId);
  const taken = (await readTaken(pool, conferenceId, [quizId])).get(quizId) ?? [];
  const own = quizResult(taken, quiz.counts).people.find(({ officialId }) => officialId === personId);
  const measure = own?.measure ?? null;
  return {
    shown,
    told: own?.told,
    measure: measure && {
      ...measure,
      low: measure.value - 1.645 * measure.se,
      high: measure.value + 1.645 * measure.se,
    },
    sittings: sittings.map((one) => ({
      ...scoreOf(one),
      endedAt: one.endedAt,
      byTime: one.endedBy === 'time',
      countsNow: one.number === own?.number,
      late: one.answers.filter(({ lateChoice }) => lateChoice !== null).length,
      answers: shown ? one.answers.map(answerView) : [],
    })),
  };
}

const answerView = ({ place, text, choices, choice, answer, explanation, rule, mechanic }: Asked) => ({
  place,
  text,
  isRight: choice === answer,
  yours: choice === null ? null : `${letterOf(choice)}, ${choices[choice]}`,
  right: `${letterOf(answer)}, ${choices[answer]}`,
  explanation,
  cites: [rule, mechanic].filter((words) => words !== '').join(' · '),
});
