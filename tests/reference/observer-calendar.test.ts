import ICAL from 'ical.js';
import { describe, expect, it } from 'vitest';
import { type CalendarAssignment, calendarOf } from '../../server/observers/calendar/calendar.ts';

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

function eventsOf(text: string) {
  const calendar = new ICAL.Component(ICAL.parse(text));
  return { calendar, events: calendar.getAllSubcomponents('vevent').map((event) => new ICAL.Event(event)) };
}

describe('calendar feed', () => {
  it('is read back equal by an independent parser', () => {
    const { calendar, events } = eventsOf(calendarOf('My games', [base]));
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
      (state) => eventsOf(calendarOf('x', [state])).events[0]!,
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

  // RFC 5546, 3.2.1: PUBLISH has an organizer and no attendee; 4.1.3: it is cancelled by CANCEL, without one too. Where
  // nobody attends, a mail client has no reply to offer.
  it('tells a mail client of an entry to show, with nothing to reply to', () => {
    const organizer = { name: 'Coordinator', email: 'coordinator@example.org' };
    for (const method of ['PUBLISH', 'CANCEL'] as const) {
      const { calendar, events } = eventsOf(calendarOf('x', [base], method, organizer));
      expect(calendar.getFirstPropertyValue('method')).toBe(method);
      expect(String(events[0]?.component.getFirstPropertyValue('organizer'))).toMatch(
        /coordinator@example\.org/i,
      );
      expect(events[0]?.component.getFirstPropertyValue('attendee')).toBeNull();
    }
  });

  it('folds long lines at 75 octets and ends lines with CRLF (RFC 5545, 3.1)', () => {
    const long = { ...base, homeTeam: 'Ünïversity of Ñorthern Łakes '.repeat(6) };
    const text = calendarOf('x', [long]);
    for (const line of text.split('\r\n')) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
    expect(text.replaceAll('\r\n', '')).not.toContain('\n');
    expect(eventsOf(text).events[0]?.summary).toContain('Ünïversity of Ñorthern Łakes Ünïversity');
  });

  it('is a valid calendar when there is nothing in it', () => {
    expect(eventsOf(calendarOf('x', [])).events).toEqual([]);
  });

  it('leaves the hours of a film assignment free', () => {
    const { events } = eventsOf(calendarOf('x', [{ ...base, mode: 'film' }]));
    expect(events[0]?.component.getFirstPropertyValue('transp')).toBe('TRANSPARENT');
    expect(events[0]?.location).toBeFalsy();
  });
});
