import type { Lesson } from './lesson.ts';

interface ClipLimits {
  /** The most plays. */
  readonly clips: number;
  /** Seconds that all of them may take. */
  readonly seconds: number;
  /** The most bad plays of one official. */
  readonly mostBadOfOfficial: number;
  /** The most topics: one goal is not taught by thirty duties. */
  readonly topics: number;
}

export interface ClipProblem {
  /** What there is to choose from, and what is chosen already. */
  readonly lessons: readonly Lesson[];
  /** Ids of lessons that stay whatever they cost. */
  readonly locked: readonly string[];
  readonly limits: ClipLimits;
}

/** In points of a lesson, whole so that the optimum can be proved by a bound within one point. No source. */
export const prices = {
  /** For each bad play of an official beyond their good ones: so nobody is in bad plays only, where it can be helped. */
  moreBad: 4,
  /** For each good play beyond two for each bad one: a mistake seen beside its remedy teaches more than praise alone. */
  onlyPraise: 2,
} as const;

/** How many good plays there may be for each bad one before there is only praise. */
export const mostGoodForBad = 2;

/** Good plays that a topic needs: one to open and one to close it. */
export const goodPerTopic = 2;

/** What is wrong with a problem, in a sentence; null where it can be solved. */
export function faultIn({ lessons, locked, limits }: ClipProblem): string | null {
  const ids = new Set(lessons.map(({ id }) => id));
  if (ids.size !== lessons.length) return 'A lesson is there twice.';
  if (locked.some((id) => !ids.has(id))) return 'A play that stays is not among those to choose from.';
  const wrong = lessons.find(
    ({ seconds, points }) =>
      !Number.isInteger(seconds) || seconds < 1 || !Number.isInteger(points) || points < 0,
  );
  if (wrong) return `The lesson ${wrong.id} has no whole number of seconds and points.`;
  const whole = Object.entries(limits).find(([, value]) => !Number.isInteger(value) || value < 0);
  return whole ? `The limit "${whole[0]}" must be a whole number, 0 or more.` : null;
}
