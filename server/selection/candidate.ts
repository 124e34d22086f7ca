import type { Position } from '../football/positions.ts';
import type { Place } from '../planning/distance.ts';

/** One official as graded in one position: what the season's standings say of them. */
export interface GradedIn {
  readonly officialId: string;
  readonly position: Position;
  /** Games in the position, of released reports. */
  readonly games: number;
  /** 0 to 100, adjusted for observers and games, with its interval; null where it cannot be told. */
  readonly grade: { readonly grade: number; readonly low: number; readonly high: number } | null;
  readonly rank: RankInPosition | null;
  /** Why there is no rank. */
  readonly unrankedReason: string | null;
  /** Chance of one of the top places by the model that the season is graded by, and by the other. Null: not known. */
  readonly chance: number | null;
  readonly otherChance: number | null;
}

interface RankInPosition {
  /** By the estimate, 1 the best. */
  readonly place: number;
  /** Holds 90 percent of the ranks that the season's uncertainty leaves possible. */
  readonly low: number;
  readonly high: number;
}

/** What is known of an official beside grades, in one season. Null: not known. */
export interface FactsOfOfficial {
  readonly yearsOfService: number | null;
  readonly fitnessPassed: boolean | null;
  /** The last day on which the fitness test counts; null where it does not end. */
  readonly fitnessUntil: string | null;
  /** Percent. */
  readonly rulesTestScore: number | null;
  readonly goodStanding: boolean | null;
  readonly standingReason: string;
  readonly available: boolean | null;
  /** Days on which they cannot work: "2031-12-06". */
  readonly daysAway: readonly string[];
  readonly postseasonsLately: number | null;
}

export const nothingKnown: FactsOfOfficial = {
  yearsOfService: null,
  fitnessPassed: null,
  fitnessUntil: null,
  rulesTestScore: null,
  goodStanding: null,
  standingReason: '',
  available: null,
  daysAway: [],
  postseasonsLately: null,
};

export interface OfficialToSelect {
  readonly id: string;
  /** False: their account is closed. */
  readonly active: boolean;
  readonly facts: FactsOfOfficial;
  /** Games of other selections, of this season and the three before it, that they accepted and that are over by then. */
  readonly gamesHere: number;
  readonly home: Place | null;
  /** The crews of the season to which they belong. */
  readonly crewIds: readonly string[];
  /** Teams of the conference with which a tie is declared. */
  readonly ties: readonly string[];
  /** The latest day on which they worked a game of each team: by team. */
  readonly workedTeam: ReadonlyMap<string, string>;
  /** Teams with an open inquiry about a game that they worked. */
  readonly openInquiryOf: readonly string[];
  /** Days on which they are chosen for a game of another selection. */
  readonly daysElsewhere: readonly string[];
}

/** A team of a game: one of the conference, or a name that the conference knows nothing of. */
interface TeamOfGame {
  /** Null: not a team of the conference. */
  readonly id: string | null;
  /** Empty: not known yet who it is. */
  readonly name: string;
}

export interface GameToFill {
  readonly id: string;
  /** "2031-12-06", where it is played. */
  readonly playedOn: string;
  readonly teams: readonly TeamOfGame[];
  readonly place: Place | null;
  readonly positions: readonly Position[];
  readonly alternates: number;
  /** One crew of the season is kept together. */
  readonly wholeCrew: boolean;
}

/** Postseason games of the last three seasons: what was entered, or what the program knows itself where that is more. */
export const gamesLately = ({ facts, gamesHere }: OfficialToSelect): number | null =>
  facts.postseasonsLately === null && gamesHere === 0
    ? null
    : Math.max(facts.postseasonsLately ?? 0, gamesHere);
