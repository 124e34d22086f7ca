import type { ClipsShape } from './clips.ts';

/** What a season of known truth is drawn from. Effects are on the log-odds of missing one chance. */
export interface SeasonShape {
  crews: number;
  weeks: number;
  /** Each week the next crews in turn work one game each. */
  gamesPerWeek: number;
  observers: number;
  /** Share of the games that a second observer reports on. */
  seenTwice: number;
  /** Share of the seats that a substitute fills, game by game. */
  substitutes: number;
  /** What the demo season's chances a game are multiplied by. */
  chances: number;
  /** Standard deviations. */
  spread: {
    official: number;
    /** Of one official between kinds of duty. */
    officialByCategory: number;
    observer: number;
    observerByPosition: number;
    game: number;
    officialByGame: number;
  };
  /** Skills that officials have instead of drawn ones, by turns: several of one position are exactly as good. */
  skills?: readonly number[];
  /** How much an official improves from the first week to the last: mean and standard deviation. */
  improvement?: { mean: number; spread: number };
  /** Share of the misses that an observer notices. */
  keenness: number;
  /** The same of every second observer, where it differs. */
  keennessOfHalf?: number;
  /** Severity of the first observer instead of a drawn one. */
  extremeObserver?: number;
  /** The first so many observers are this much harder on the first crew, and one of them sees half of its games. */
  harshToFirstCrew?: { observers: number; by: number };
  /** How many observers ever see one crew; all of its part when not given. */
  observersPerCrew?: number;
  /** Whether one observer watches the umpire in every game, and nobody else does. */
  umpireSeenByOne?: boolean;
  /** Crews, substitutes and observers in so many parts that never meet. */
  parts: number;
  /** Clips that all observers mark. */
  clips?: ClipsShape;
  /** The officials are those of the season of this seed, a year earlier, but for what changed. */
  yearBefore?: { seed: number } & YearShape;
}

/** What differs between a season and the one before. Effects on the log-odds of a miss. */
export interface YearShape {
  /** Standard deviation of what most officials' skill changed by, and of what the share `changed` of them did. */
  usualChange: number;
  bigChange: number;
  changed: number;
  /** Share of the officials who were not there a year earlier; somebody else was, who left. */
  newcomers: number;
  /** How much worse all were. */
  worse: number;
}

/** As the demo season: eight crews, 45 games, 14 observers, 14 games seen twice, three quarters of misses noticed. */
export const demoLike: SeasonShape = {
  crews: 8,
  weeks: 9,
  gamesPerWeek: 5,
  observers: 14,
  seenTwice: 0.24,
  substitutes: 1 / 15,
  chances: 1,
  spread: {
    official: 0.35,
    officialByCategory: 0.2,
    observer: 0.25,
    observerByPosition: 0,
    game: 0.15,
    officialByGame: 0.2,
  },
  keenness: 0.75,
  parts: 1,
};

const spread = demoLike.spread;

/** Worlds in which grades, ranks and intervals must hold. */
export const scenarios: Readonly<Record<string, SeasonShape>> = {
  'demo-like': demoLike,
  'every game seen twice': { ...demoLike, seenTwice: 1 },
  'severity sd 0.6': { ...demoLike, spread: { ...spread, observer: 0.6 } },
  'harsh to one crew': { ...demoLike, harshToFirstCrew: { observers: 3, by: 1 } },
  'observer x position sd 0.4': { ...demoLike, spread: { ...spread, observerByPosition: 0.4 } },
  'half of the observers mark half': { ...demoLike, keennessOfHalf: demoLike.keenness / 2 },
  'a third of the misses in all': { ...demoLike, keenness: 1 / 3 },
  'one position seen by one observer': { ...demoLike, umpireSeenByOne: true },
  'officials who improve': { ...demoLike, improvement: { mean: 0.5, spread: 0.5 } },
  'heavy ties': {
    ...demoLike,
    chances: 0.15,
    skills: [0, 0.5, 0, -0.5],
    spread: { ...spread, officialByCategory: 0 },
  },
  'disconnected crews': { ...demoLike, parts: 2 },
  'no severity': { ...demoLike, spread: { ...spread, observer: 0 } },
  'one extreme observer': { ...demoLike, extremeObserver: 1.5 },
  'few observers per crew': { ...demoLike, observersPerCrew: 2, seenTwice: 0.1 },
};

/** Worlds in which every observer notices the same share of the misses: intervals must hold what they promise. */
export const detectionIsEven = ({ keennessOfHalf }: SeasonShape): boolean => keennessOfHalf === undefined;
