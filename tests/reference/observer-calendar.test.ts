import ICAL from 'ical.js';
import { describe, expect, it } from 'vitest';
import {
  type CalendarAssignment,
  calendarOf,
  organizerOf,
} from '../../server/observers/calendar/calendar.ts';

// Read back by ical.js, a parser with no code in common with the writer. Property names and rules: RFC 5545.

const base: CalendarAssignment = {
  id: '0190f3a2-7c1e-7000-8000-000000000001',
  answer: 'offered',
  mode: 'in person',
  homeTeam: 'Alder Valley, "Herons"; north',
  awayTeam: 'Bracken Hill',
  venue: 'Heron Field, Alder',
  place: { latitude: 38.5, longitude: -91.25 },
  kickoff: new Date('2026-09-12T18:30:00Z'),
  revision: 0,
  changedAt: new Date('2026-09-01T12:00:00Z'),
  url: 'https://crewmark.example/assignments/1',
};

const organizer = organizerOf('Test Conference', 'Crewmark <office@conference.example>');

function eventsOf(text: string) {
  const calendar = new ICAL.Component(ICAL.parse(text));
  return { calendar, events: calendar.getAllSubcomponents('vevent').map((event) => new ICAL.Event(event)) };
}

describe('calendar feed', () => {
  it('is read back equal by an independent parser', () => {
    const { calendar, events } = eventsOf(calendarOf('My games', [base], organizer));
    expect(calendar.getFirstPropertyValue('version')).toBe('2.0');
    expect(calendar.getFirstPropertyValue('method')).toBe('PUBLISH');
    const [event] = events;
    expect(event?.summary).toBe('Observe Bracken Hill at Alder Valley, "Herons"; north (in person)');
    expect(event?.location).toContain('Heron Field, Alder');
    expect(event?.startDate.toJSDate()).toEqual(base.kickoff);
    expect(event?.endDate.toJSDate()).toEqual(new Date('2026-09-12T22:00:00Z'));
    expect(event?.component.getFirstPropertyValue('status')).toBe('TENTATIVE');
    expect(event?.component.getFirstPropertyValue('url')).toBe(base.url);
    expect(String(event?.component.getFirstPropertyValue('geo'))).toMatch(/38\.5.+-91\.25/);
    expect(event?.component.getFirstPropertyValue('dtstamp')?.toString()).toBe('2026-09-01T12:00:00Z');
  });

  it('keeps the UID and raises SEQUENCE when a game moves, an answer comes, or an assignment is withdrawn', () => {
    const moved = { ...base, kickoff: new Date('2026-09-12T23:00:00Z'), revision: 1 };
    const accepted = { ...moved, answer: 'accepted' as const, revision: 2 };
    const withdrawn = { ...accepted, answer: 'withdrawn' as const, revision: 3 };
    const states = [base, moved, accepted, withdrawn].map(
      (state) => eventsOf(calendarOf('x', [state], organizer)).events[0]!,
    );
    expect(new Set(states.map((event) => event.uid)).size).toBe(1);
    expect(states.map((event) => event.sequence)).toEqual([0, 1, 2, 3]);
    expect(states.map((event) => event.component.getFirstPropertyValue('status'))).toEqual([
      'TENTATIVE',
      'TENTATIVE',
      'CONFIRMED',
      'CANCELLED',
    ]);
  });

  // RFC 5546, the tables of 3.2.1 and 3.2.5: how often a VEVENT may have a property. 4.1.3: what was published is cancelled
  // without naming who attended. Where nobody attends, a mail client has no reply to offer.
  const once = {
    PUBLISH: ['dtstamp', 'dtstart', 'organizer', 'summary', 'uid'],
    CANCEL: ['dtstamp', 'organizer', 'sequence', 'uid'],
  };
  const never = { PUBLISH: ['attendee', 'request-status'], CANCEL: ['request-status'] };
  it('has of each method what it must have and not what it must not', () => {
    const states = (['offered', 'accepted', 'declined', 'withdrawn'] as const).map((answer, revision) => ({
      ...base,
      id: String(revision),
      answer,
      revision,
    }));
    for (const method of ['PUBLISH', 'CANCEL'] as const) {
      const { calendar, events } = eventsOf(calendarOf('x', states, organizer, method));
      expect(calendar.getAllProperties('method').map((one) => one.getFirstValue())).toEqual([method]);
      expect(events).toHaveLength(states.length);
      for (const { component } of events) {
        const counts = (names: string[]) =>
          names.map((name) => [name, component.getAllProperties(name).length]);
        expect(counts(once[method])).toEqual(once[method].map((name) => [name, 1]));
        expect(counts(never[method])).toEqual(never[method].map((name) => [name, 0]));
        expect(component.getAllProperties('attendee')).toEqual([]);
        const [of] = component.getAllProperties('organizer');
        expect([of!.getFirstValue(), of!.getParameter('cn')]).toEqual([
          'mailto:office@conference.example',
          'Test Conference',
        ]);
      }
    }
  });

  it('folds long lines at 75 octets and ends lines with CRLF (RFC 5545, 3.1)', () => {
    const long = { ...base, homeTeam: 'Ünïversity of Ñorthern Łakes '.repeat(6) };
    const text = calendarOf('x', [long], organizer);
    for (const line of text.split('\r\n')) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
    expect(text.replaceAll('\r\n', '')).not.toContain('\n');
    expect(eventsOf(text).events[0]?.summary).toContain('Ünïversity of Ñorthern Łakes Ünïversity');
  });

  it('publishes nothing when there is nothing in it (RFC 5546, 3.2.1: one VEVENT at least)', () => {
    const { calendar, events } = eventsOf(calendarOf('x', [], organizer));
    expect([events, calendar.getFirstPropertyValue('method')]).toEqual([[], null]);
  });

  it('leaves the hours of a film assignment free', () => {
    const { events } = eventsOf(calendarOf('x', [{ ...base, mode: 'film' }], organizer));
    expect(events[0]?.component.getFirstPropertyValue('transp')).toBe('TRANSPARENT');
    expect(events[0]?.location).toBeFalsy();
  });
});
