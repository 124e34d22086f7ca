import { type ChancesKept, sharesOf } from '../duties/report-shares.ts';
import type { Place } from '../planning/distance.ts';
import type { CrewTarget, Mode, ObserverToSend } from '../planning/planning-problem.ts';

/** A season as the planning pages and the planner read it: plain rows, no database in sight. */
export interface SeasonMaterial {
  readonly season: { readonly id: string; readonly name: string };
  readonly settings: PlanSetting;
  readonly games: readonly SeasonGame[];
  readonly observers: readonly SeasonObserver[];
  readonly assignments: readonly Assignment[];
}

export interface PlanSetting {
  readonly observersPerGame: number;
  readonly crewTarget: CrewTarget;
  readonly film: number;
  readonly repeatedPair: number;
  readonly load: number;
  readonly information: number;
}

export interface SeasonGame {
  readonly id: string;
  readonly key: string;
  readonly week: number;
  readonly kickoff: Date;
  readonly timeZone: string;
  /** Day of the kickoff at the venue, YYYY-MM-DD. */
  readonly date: string;
  readonly venue: string;
  readonly place: Place | null;
  readonly home: { readonly id: string; readonly name: string };
  readonly visitor: { readonly id: string; readonly name: string };
  readonly crew: { readonly id: string; readonly name: string } | null;
  /** Who works it: the working crew when known, else the crew's members. */
  readonly officials: readonly { readonly id: string; readonly position: string }[];
  /** Null: the season's setting holds. */
  readonly observersWanted: number | null;
  readonly filmAllowed: boolean;
  /** It has kicked off: nobody can be sent there any more. */
  readonly over: boolean;
  /** A report was begun: what was assigned has happened and is not planned again. */
  readonly reported: boolean;
}

export interface SeasonObserver extends ObserverToSend {
  readonly name: string;
  readonly email: string;
  readonly homePlace: string;
}

export interface Assignment {
  readonly id: string;
  readonly gameId: string;
  readonly observerId: string;
  readonly mode: Mode;
  readonly answer: 'offered' | 'accepted' | 'declined';
  readonly withdrawn: boolean;
  readonly locked: boolean;
  readonly overrideReason: string | null;
  readonly declineReason: string | null;
  readonly offeredAt: Date;
  readonly revision: number;
  readonly changedAt: Date;
  readonly reportState: string | null;
  /** What the report, once filed, kept of each official's chances. */
  readonly kept: ReadonlyMap<string, ChancesKept>;
}

/** Offered or accepted: someone is, or may be, coming. */
export function stands(assignment: Assignment): boolean {
  return assignment.answer !== 'declined';
}

/** An offer to be at a game that kicked off before it was answered: nobody is known to have been there. */
export function hasPassed({ answer, mode }: Assignment, { over }: SeasonGame): boolean {
  return over && answer === 'offered' && mode === 'in person';
}

/** Sums of what reports kept of some officials' chances. */
export function keptOf(assignments: readonly Assignment[], officials?: ReadonlySet<string>): ChancesKept {
  const sum = { opportunities: 0, setAside: 0, unwatched: 0, likely: 0 };
  for (const { kept } of assignments) {
    for (const [official, row] of kept) {
      if (officials && !officials.has(official)) continue;
      sum.opportunities += row.opportunities;
      sum.setAside += row.setAside;
      sum.unwatched += row.unwatched;
      sum.likely += row.likely;
    }
  }
  return sum;
}

/** Of everybody's chances in a game, the share that its observer watched; 1 before the report is filed. */
export function watchedShare(assignment: Assignment): number {
  return sharesOf(keptOf([assignment])).watched ?? 1;
}
