import type { SeasonSpread } from '../grading/season-fit.ts';

/**
 * What the planner weighs, all in miles, so that a coordinator can argue with it: "sending the same observer
 * to the same crew again is as bad as driving 40 miles more". Common practice, no source.
 */
export interface Prices {
  /** Watching on film instead of in the stadium. */
  readonly film: number;
  /** One-way miles to assume when an observer's home or the venue has no coordinates. */
  readonly unknownDistance: number;
  /** An observer's second game with the same crew; the third costs twice this, and so on. */
  readonly repeatedPair: number;
  /** An observer's second game in the season; the third costs twice this, and so on: evens the load. */
  readonly load: number;
  /** Going from knowing nothing of one official's adjusted grade to knowing it exactly. */
  readonly information: number;
  /** A group of officials whom no observer links to the rest, so that grades cannot be compared. */
  readonly separateGroup: number;
  /** One time, or one different observer, that a crew misses of its season's target. */
  readonly missedCrewTarget: number;
  /** An observer wanted and not found. Larger than all else, so a game is never left out to save miles. */
  readonly unfilled: number;
  /** Standard deviations in grade points, from the season's own mixed model when there is one. */
  readonly spread: Spread;
}

/**
 * What a grade varies by: officials' skill, observers' severity (as a whole and by position), the game, the official's
 * evening, and what is left for one game grade. Standard deviations in grade points.
 */
export type Spread = Readonly<SeasonSpread>;

/** Before the first reports: a guess, replaced by the mixed model's estimates. Common practice, no source. */
export const spreadBeforeData: Spread = {
  official: 3,
  observer: 2.5,
  game: 1.5,
  officialInGame: 2,
  observerInPosition: 1,
  residual: 3.5,
};

export const defaultPrices: Prices = {
  film: 120,
  unknownDistance: 150,
  repeatedPair: 40,
  load: 12,
  information: 120,
  separateGroup: 400,
  missedCrewTarget: 1_000,
  unfilled: 20_000,
  spread: spreadBeforeData,
};
