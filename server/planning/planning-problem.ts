import type { Place } from './distance.ts';
import type { Prices } from './prices.ts';

/** How an observer watches a game. Film needs no travel and no day free. */
export const modes = ['in person', 'film'] as const;
export type Mode = (typeof modes)[number];

export const conflictKinds = [
  'school tie',
  'family',
  'former crew',
  'business interest',
  'other interest',
] as const;
export type ConflictKind = (typeof conflictKinds)[number];

/** A declared tie to exactly one of a team, an official or a crew. It holds in person and on film. */
export interface Conflict {
  readonly kind: ConflictKind;
  readonly teamId?: string;
  readonly officialId?: string;
  readonly crewId?: string;
}

/** Days away, both ends included, as YYYY-MM-DD in the venue's calendar. */
export interface Absence {
  readonly from: string;
  readonly to: string;
  /** Away from stadiums only (can still watch film), or from all work. */
  readonly of: 'in person' | 'all work';
}

export interface ObserverToSend {
  readonly id: string;
  readonly home: Place | null;
  readonly modes: readonly Mode[];
  readonly absences: readonly Absence[];
  readonly conflicts: readonly Conflict[];
  /** Most games in one week and in the season, and farthest trip one way; null is no limit. */
  readonly weeklyLimit: number | null;
  readonly seasonLimit: number | null;
  readonly travelLimitMiles: number | null;
  /** Games offered to this observer and declined. */
  readonly declinedGameIds?: readonly string[];
}

export interface GameToWatch {
  readonly id: string;
  readonly week: number;
  /** Day of the kickoff at the venue, YYYY-MM-DD. */
  readonly date: string;
  readonly place: Place | null;
  readonly teamIds: readonly string[];
  readonly crewId: string | null;
  readonly officialIds: readonly string[];
  /** How many observers the coordinator wants on this game. */
  readonly observersWanted: number;
  readonly filmAllowed: boolean;
}

/** One observer on one game in one way. */
export interface Choice {
  readonly gameId: string;
  readonly observerId: string;
  readonly mode: Mode;
}

/** An assignment outside the games being planned: it counts in limits, load, pairs and information. */
export interface Standing {
  readonly observerId: string;
  readonly gameId: string;
  readonly week: number;
  readonly date: string;
  readonly mode: Mode;
  readonly crewId: string | null;
  /** Of the chances of those who worked, the share that was watched, 0 to 1; left out: all. */
  readonly watchedShare?: number;
}

/** What each crew should have by the season's end. Used when the rest of the season is planned. */
export interface CrewTarget {
  readonly timesSeen: number;
  readonly differentObservers: number;
}

export interface PlanningProblem {
  readonly games: readonly GameToWatch[];
  readonly observers: readonly ObserverToSend[];
  readonly standing: readonly Standing[];
  /** Choices that stay as they are, rules broken or not: a person decided them. */
  readonly locked: readonly Choice[];
  readonly crewTarget: CrewTarget | null;
  readonly prices: Prices;
}
