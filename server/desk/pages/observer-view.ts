import { distanceInWords } from '../../planning/distance.ts';
import { inWords } from '../../planning/rules.ts';
import { dueOf } from '../../reports/review/report-due.ts';
import { ageInWords, timeLeftInWords } from '../age.ts';
import type { AssignmentFact, ObserverDesk } from '../observer-desk.ts';

const nobody: ObserverDesk = {
  offers: [],
  returned: [],
  begun: [],
  toBegin: [],
  next: [],
  withCoordinator: 0,
  reportDays: 0,
  availability: null,
};

/** The observer's part of the desk, ready for the template. Without a season it is empty. */
export function observerView(desk: ObserverDesk | null, now = new Date()) {
  const { offers, returned, begun, toBegin, next, withCoordinator, reportDays, availability } =
    desk ?? nobody;
  const view = (one: AssignmentFact) => ({
    ...one,
    due: dueOf(one.kickoff, reportDays),
    late: dueOf(one.kickoff, reportDays) <= now,
    how: inWords(one.how),
    distance: one.miles === null ? null : distanceInWords(one.miles),
    left: timeLeftInWords(one.kickoff, now),
    asked: ageInWords(one.offeredAt, now),
    back: one.returnedAt && ageInWords(one.returnedAt, now),
    ago: ageInWords(one.kickoff, now),
  });
  return {
    availability,
    offers: offers.map(view),
    returned: returned.map(view),
    begun: begun.map(view),
    toBegin: toBegin.map(view),
    next: next.map(view),
    withCoordinator,
    nothing: offers.length + returned.length + begun.length + toBegin.length === 0,
  };
}
