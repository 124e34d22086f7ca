import type { Position } from '../football/positions.ts';

/** How a play is shown: as it should be, as it should not, or as one on which two who know it differ. */
export const showings = ['good', 'bad', 'to discuss'] as const;
export type Showing = (typeof showings)[number];

/** What is said of nobody's best: a play to discuss embarrasses as much as a bad one, so both count as such. */
export const isBad = (showing: Showing): boolean => showing !== 'good';

/** What one play could teach: one official's duty on it. A play with several such duties gives several lessons. */
export interface Lesson {
  /** Unique among the lessons of a season. */
  readonly id: string;
  readonly playId: string;
  readonly gameId: string;
  readonly week: number;
  /** Null where no crew was named for the game. */
  readonly crewId: string | null;
  /** Home and visitor. */
  readonly teamIds: readonly [string, string];
  readonly officialId: string;
  readonly position: Position;
  /** The key of the duty that it teaches. */
  readonly topic: string;
  readonly showing: Showing;
  /** Planned length of the clip, in whole seconds, at least 1. */
  readonly seconds: number;
  /** How much there is to say for it: whole points, 0 or more (`reasons.ts`). */
  readonly points: number;
}
