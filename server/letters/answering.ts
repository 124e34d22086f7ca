import { dayAfter } from '../text/days.ts';
import type { LetterData } from './letter-data.ts';

/** The page where an official answers, on a server reached at `address`. */
export const answerPage = (address: string): string => `${address}/my/marks`;

/** The page of a play, on the server where one answers; null for what is written without a place to answer. */
export const playPage = (answers: string, { gameId, playId }: { gameId: string; playId: string }) =>
  beside(answers, `../games/${gameId}/plays/${playId}/duties`);

/** The page with all plays where an official missed a duty, on the server where one answers. */
export const missedPlaysPage = (answers: string, of: { position: string; dutyKey: string }) =>
  beside(answers, `patterns/plays?${new URLSearchParams(of)}`);

const beside = (answers: string, path: string): string | null =>
  answers === '' ? null : new URL(path, answers).href;

/** What a letter says about answering. Without a day (YYYY-MM-DD) the pages take no answers. */
export function replyOf(by: string | null, page: string): LetterData['reply'] {
  return by === null
    ? { by, how: 'write to the coordinator.', url: null }
    : { by, how: 'sign in, open My marks and answer at the play.', url: page };
}

/** The last day to answer, so many days after another, YYYY-MM-DD; null for none, when no answers are taken. */
export const lastDayToAnswer = (day: string, days: number): string | null =>
  days === 0 ? null : dayAfter(day, days);
