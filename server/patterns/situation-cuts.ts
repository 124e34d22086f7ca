import type { Play } from '../football/play.ts';
import { goalLineInQuestion, snapNearGoalLine } from '../football/situations/goal-line.ts';
import { and, atMost, isOneOf, or, type Truth } from '../football/three-valued.ts';

/**
 * A subset of plays in which a duty is looked at by itself, to find what is missed only there. Each cut tried
 * makes every pattern harder to call beyond chance (the family counts it), so there are few, and none is chosen
 * after looking at the data.
 */
interface SituationCut {
  /** Stable name in counts and patterns, and how it reads after a duty's title. */
  readonly key: string;
  /** Unknown facts leave a play out of the cut. */
  readonly decide: (play: Play) => Truth;
}

/** Seconds on the game clock below which a half is late: the two-minute mark. Common practice, no source. */
const lateInHalfSeconds = 120;

export const situationCuts: readonly SituationCut[] = [
  {
    key: 'at the goal line',
    decide: (play) => or(snapNearGoalLine.decide(play), goalLineInQuestion.decide(play)),
  },
  {
    key: 'late in halves',
    decide: (play) => and(isOneOf(play.quarter, 2, 4), atMost(play.clockSeconds, lateInHalfSeconds)),
  },
];

/**
 * The method of the cut counts: raised when a cut, or what gives opportunities in it, is changed, so that kept counts
 * are known to be old.
 */
export const situationCutsVersion = 5;
