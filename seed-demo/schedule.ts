import { type Position, positions } from '../server/football/positions.ts';
import { dayAfter } from '../server/text/days.ts';
import type { DemoConference } from './conference.ts';
import { usualSaturday } from './dates.ts';
import type { Draws } from './draws.ts';
import { seasonRounds } from './rounds.ts';

export interface DemoGame {
  key: string;
  week: number;
  /** Local date and time at the venue, `2026-09-05 14:30`. */
  kickoff: string;
  home: string;
  visitor: string;
  venue: string;
  crew: string;
  /** Who really worked: e-mail by position. */
  workingCrew: Record<Position, string>;
  /** Whether the play log carries film timecodes. */
  filmed: boolean;
}

const weekCount = 11;
/** Not played yet: it has no play log and no working crew, and its observers are still to be planned. */
export const weekToCome = 11;
const kickoffTimes = ['12:00', '13:30', '15:30', '18:00', '19:00'] as const;

function abbreviation(team: string): string {
  return team.slice(0, 3).toUpperCase();
}

/**
 * Eleven weeks of five games, the last on the Saturday to come (YYYY-MM-DD). Each week three of the eight crews rest; about one seat in
 * fifteen is a substitute's.
 */
export function makeSchedule(
  conference: DemoConference,
  draws: Draws,
  saturdayToCome = usualSaturday,
): DemoGame[] {
  const pairing = draws.branch('pairing');
  const seating = draws.branch('seating');
  const weeks = seasonRounds(pairing.shuffled(conference.teams.map((team) => team.name)), weekCount);
  const worked = new Map(conference.crews.map((crew) => [crew.name, 0]));
  const lastSeen = new Map<string, string[]>();
  const games: DemoGame[] = [];
  weeks.forEach((pairs, index) => {
    const week = index + 1;
    const date = dayAfter(saturdayToCome, 7 * (week - weekToCome));
    // The five crews that have worked least, in a drawn order; not the crew a team had last.
    const resting = pairing.shuffled(conference.crews.map((crew) => crew.name));
    const crews = resting.sort((a, b) => (worked.get(a) ?? 0) - (worked.get(b) ?? 0)).slice(0, pairs.length);
    const freeSubstitutes = new Set(conference.substitutes.map((substitute) => substitute.email));
    pairs.forEach(([home, visitor], at) => {
      const seen = [...(lastSeen.get(home) ?? []), ...(lastSeen.get(visitor) ?? [])];
      const fresh = crews.findIndex((name) => !seen.includes(name));
      const [crewName] = crews.splice(Math.max(fresh, 0), 1) as [string];
      worked.set(crewName, (worked.get(crewName) ?? 0) + 1);
      for (const team of [home, visitor]) lastSeen.set(team, [crewName]);
      const crew = conference.crews.find((candidate) => candidate.name === crewName);
      const venue = conference.teams.find((team) => team.name === home)?.venue;
      if (crew === undefined || venue === undefined) throw new Error(`No crew or venue for ${home}.`);
      const workingCrew = { ...crew.members };
      for (const position of positions) {
        if (!seating.chance(1 / 15)) continue;
        const substitute = conference.substitutes.find(
          (candidate) => freeSubstitutes.has(candidate.email) && candidate.positions.includes(position),
        );
        if (substitute === undefined) continue;
        freeSubstitutes.delete(substitute.email);
        workingCrew[position] = substitute.email;
      }
      games.push({
        key: `W${String(week).padStart(2, '0')}-${abbreviation(visitor)}-${abbreviation(home)}`,
        week,
        kickoff: `${date} ${kickoffTimes[at % kickoffTimes.length]}`,
        home,
        visitor,
        venue,
        crew: crewName,
        workingCrew,
        filmed: seating.chance(0.8),
      });
    });
  });
  return games;
}
