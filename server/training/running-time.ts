/** Common practice, no source: from the set formation, and on until the whistle and the first signal. */
export const usualSeconds = { before: 6, after: 10 } as const;

/** How long a question stands before its answer. Common practice, no source. */
export const questionSeconds = 20;

/**
 * What a play takes of a program with all that goes with it: question, slow repeat, a card between topics. So a program
 * of twenty minutes has about 24 plays. Common practice, no source.
 */
export const secondsForEachPlay = 50;

export interface Timed {
  /** Seconds shown before the snap and after it. */
  readonly secondsBefore: number;
  readonly secondsAfter: number;
}

/** Length of the film alone. */
export const clipSeconds = ({ secondsBefore, secondsAfter }: Timed): number => secondsBefore + secondsAfter;

/** What a play takes of the program: so many seconds of film, and the stop for its question. */
export const playingSeconds = (filmSeconds: number, hasQuestion: boolean): number =>
  filmSeconds + (hasQuestion ? questionSeconds : 0);
