import { expect, test } from 'vitest';
import { makeConference } from '../../seed-demo/conference.ts';
import { gameDayToCome } from '../../seed-demo/dates.ts';
import { Draws } from '../../seed-demo/draws.ts';
import { makeSchedule, weekToCome } from '../../seed-demo/schedule.ts';

const hour = 3_600_000;
// UTC's offsets as in the IANA time zone database, at their ends of the year: Eastern daylight and Pacific standard time.
const earliest = (kickoff: string) => Date.parse(`${kickoff.replace(' ', 'T')}:00-04:00`);
const latest = (kickoff: string) => Date.parse(`${kickoff.replace(' ', 'T')}:00-08:00`);

test('whenever the demo is loaded, all its weeks but the last are played and the last is to come within a week', () => {
  const conference = makeConference(new Draws(1, 'conference'));
  for (let hours = 0; hours < 7 * 24; hours += 1) {
    const now = new Date(Date.parse('2026-11-29T00:30:00Z') + hours * hour);
    const games = makeSchedule(conference, new Draws(1, 'schedule'), gameDayToCome(now));
    const kickoffs = (wanted: boolean) =>
      games.filter(({ week }) => week < weekToCome === wanted).map(({ kickoff }) => kickoff);
    expect(Math.max(...kickoffs(true).map(latest)), now.toISOString()).toBeLessThan(now.getTime());
    expect(Math.min(...kickoffs(false).map(earliest)), now.toISOString()).toBeGreaterThan(now.getTime());
    expect(Math.max(...kickoffs(false).map(latest)), now.toISOString()).toBeLessThan(
      now.getTime() + 8 * 24 * hour,
    );
  }
});
