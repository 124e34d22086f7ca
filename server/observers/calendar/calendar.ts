import ical, { ICalCalendarMethod, ICalEventStatus, ICalEventTransparency } from 'ical-generator';
import type { Mode } from '../../planning/planning-problem.ts';
import { inWords } from '../../planning/rules.ts';

export type Answer = 'offered' | 'accepted' | 'declined' | 'withdrawn';

/** One assignment as a calendar shows it. */
export interface CalendarAssignment {
  readonly id: string;
  readonly answer: Answer;
  readonly mode: Mode;
  readonly homeTeam: string;
  readonly awayTeam: string;
  readonly venue: string | null;
  readonly place: { readonly latitude: number; readonly longitude: number } | null;
  /** Instant of the kickoff. */
  readonly kickoff: Date;
  /** Counts every change of time, place, way or answer: iCalendar's SEQUENCE. */
  readonly revision: number;
  readonly changedAt: Date;
  /** Page on which to answer; null when there is no public address. */
  readonly url: string | null;
}

/** Length of the calendar entry; the game decides. Common practice, no source. */
const hoursOfGame = 3.5;

const status: Readonly<Record<Answer, ICalEventStatus>> = {
  offered: ICalEventStatus.TENTATIVE,
  accepted: ICalEventStatus.CONFIRMED,
  declined: ICalEventStatus.CANCELLED,
  withdrawn: ICalEventStatus.CANCELLED,
};

/** Stays the same for the life of an assignment, so that a calendar updates its entry and never doubles it. */
function uidOf(assignmentId: string): string {
  return `assignment-${assignmentId}@crewmark`;
}

/** Of whom entries are: the conference, at the address that its mail comes from (`MAIL_FROM`, with or without a name). */
export const organizerOf = (conference: string, mailFrom: string): Organizer => ({
  name: conference,
  email: mailFrom.match(/<([^>]+)>/)?.[1] ?? mailFrom,
});
interface Organizer {
  readonly name: string;
  readonly email: string;
}

/**
 * An observer's assignments as iCalendar text (RFC 5545). Declined and withdrawn ones stay in the feed as
 * cancelled, with a higher SEQUENCE, so that subscribed calendars take them off.
 * @param method CANCEL for one that was taken back, sent by e-mail (RFC 5546, section 4.1.3); PUBLISH for all else
 * @param organizer whoever publishes or cancels has to be named; nobody attends what is published (RFC 5546, section 3.2.1)
 */
export function calendarOf(
  name: string,
  assignments: readonly CalendarAssignment[],
  organizer: Organizer,
  method: 'PUBLISH' | 'CANCEL' = 'PUBLISH',
): string {
  const calendar = ical({
    name,
    // A method is of one entry at least (RFC 5546, section 3.2.1).
    ...(assignments.length > 0 && { method: ICalCalendarMethod[method] }),
    prodId: { company: 'Crewmark', product: 'observer assignments', language: 'EN' },
    ttl: 3600,
  });
  for (const assignment of assignments) {
    const end = new Date(assignment.kickoff.getTime() + hoursOfGame * 3_600_000);
    const event = calendar.createEvent({
      id: uidOf(assignment.id),
      sequence: assignment.revision,
      stamp: assignment.changedAt,
      lastModified: assignment.changedAt,
      start: assignment.kickoff,
      end,
      summary: `Observe ${assignment.awayTeam} at ${assignment.homeTeam} (${inWords(assignment.mode)})`,
      description:
        assignment.answer === 'offered'
          ? 'Offered to you: please accept or decline.'
          : `Your answer: ${assignment.answer}.`,
      status: status[assignment.answer],
      // Film can be watched at any hour: the kickoff does not take the time.
      transparency:
        assignment.mode === 'film' || status[assignment.answer] === ICalEventStatus.CANCELLED
          ? ICalEventTransparency.TRANSPARENT
          : ICalEventTransparency.OPAQUE,
    });
    if (assignment.url) event.url(assignment.url);
    if (assignment.mode === 'in person' && assignment.venue)
      event.location(
        assignment.place
          ? {
              title: assignment.venue,
              geo: { lat: assignment.place.latitude, lon: assignment.place.longitude },
            }
          : { title: assignment.venue },
      );
    event.organizer(organizer);
  }
  return calendar.toString();
}
