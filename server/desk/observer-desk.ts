/** An assignment of the observer's own, in the season in view, with the report on it. */
export interface AssignmentFact {
  readonly id: string;
  readonly gameId: string;
  readonly game: string;
  readonly week: number;
  readonly kickoff: Date;
  readonly timeZone: string;
  readonly venue: string;
  readonly how: 'in person' | 'film';
  /** As the crow flies, one way; null when not in person or the home is not known. */
  readonly miles: number | null;
  readonly answer: 'offered' | 'accepted' | 'declined';
  readonly offeredAt: Date;
  readonly reportId: string | null;
  readonly state: 'draft' | 'filed' | 'returned' | 'accepted' | 'released' | null;
  readonly returnedReason: string | null;
  readonly returnedAt: Date | null;
}

export interface ObserverFacts {
  /** Within how many days of kickoff a report is to be filed. */
  readonly reportDays: number;
  readonly assignments: readonly AssignmentFact[];
  /** A season for which the observer has not said yet when they are away; null without one. */
  readonly availability: { readonly season: string; readonly askedAt: Date } | null;
}

export interface ObserverDesk {
  /** To answer, those asked first in front. */
  readonly offers: readonly AssignmentFact[];
  /** Came back from the coordinator. */
  readonly returned: readonly AssignmentFact[];
  /** Begun and not filed. */
  readonly begun: readonly AssignmentFact[];
  /** Kicked off, without a report. */
  readonly toBegin: readonly AssignmentFact[];
  /** Accepted and still to be played. */
  readonly next: readonly AssignmentFact[];
  readonly withCoordinator: number;
  readonly reportDays: number;
  readonly availability: ObserverFacts['availability'];
}

/** An observer's desk; each list by its oldest. */
export function observerDesk(
  { assignments, reportDays, availability }: ObserverFacts,
  now: Date,
): ObserverDesk {
  const sorted = (wanted: (one: AssignmentFact) => boolean, by: (one: AssignmentFact) => Date) =>
    assignments.filter(wanted).sort((one, other) => by(one).getTime() - by(other).getTime());
  const kickoff = (one: AssignmentFact) => one.kickoff;
  const accepted = (one: AssignmentFact) => one.answer === 'accepted' && one.state === null;
  return {
    offers: sorted(
      // Nobody can go to a game that has kicked off.
      (one) => one.answer === 'offered' && one.state === null && (one.kickoff > now || one.how === 'film'),
      (one) => one.offeredAt,
    ),
    returned: sorted(
      (one) => one.state === 'returned',
      (one) => one.returnedAt ?? one.kickoff,
    ),
    begun: sorted((one) => one.state === 'draft', kickoff),
    toBegin: sorted((one) => accepted(one) && one.kickoff <= now, kickoff),
    next: sorted((one) => accepted(one) && one.kickoff > now, kickoff),
    withCoordinator: assignments.filter(({ state }) => state === 'filed' || state === 'accepted').length,
    reportDays,
    availability,
  };
}

/** What the menu counts: what an observer is asked to do, by the menu's pages. */
export const observerCounts = (desk: ObserverDesk): { games: number; assignments: number; away: number } => ({
  games: desk.returned.length + desk.begun.length + desk.toBegin.length,
  assignments: desk.offers.length,
  away: desk.availability ? 1 : 0,
});
