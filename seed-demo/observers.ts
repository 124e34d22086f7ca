import type { DemoConference } from './conference.ts';
import type { Draws } from './draws.ts';
import { type DemoGame, weekToCome } from './schedule.ts';

export type DemoReportState = 'draft' | 'filed' | 'returned' | 'accepted' | 'released';

export interface DemoAssignment {
  game: string;
  observer: string;
  how: 'in person' | 'film';
  answer: 'offered' | 'accepted' | 'declined';
  /** The state that the observer's report is in; null where none was begun. */
  report: DemoReportState | null;
}

/** Share of games that two observers watch: they tie the observers' severities together. */
const doubleShare = 0.24;

/**
 * One or two observers for each game: those with the fewest games so far, who have seen its crew least.
 * Weeks 1 to 9 are released, week 10 shows every state a report can be in, and week 11 is still to be played: one game
 * is accepted, one offered, one was declined, and the others have nobody yet.
 */
export function assignObservers(
  conference: DemoConference,
  games: readonly DemoGame[],
  draws: Draws,
): DemoAssignment[] {
  const load = new Map(conference.observers.map(({ email }) => [email, 0]));
  const seen = new Map<string, number>();
  const busy = new Set<string>();
  const made: DemoAssignment[] = [];
  const choose = (game: DemoGame): string => {
    const cost = (email: string) => (load.get(email) ?? 0) + 1.5 * (seen.get(`${email} ${game.crew}`) ?? 0);
    const free = draws
      .shuffled(conference.observers.map(({ email }) => email))
      .filter((email) => !busy.has(`${email} ${game.week}`));
    const observer = free.reduce((best, email) => (cost(email) < cost(best) ? email : best));
    load.set(observer, (load.get(observer) ?? 0) + 1);
    seen.set(`${observer} ${game.crew}`, (seen.get(`${observer} ${game.crew}`) ?? 0) + 1);
    busy.add(`${observer} ${game.week}`);
    return observer;
  };
  const nextState: Record<number, DemoReportState[]> = {
    10: ['accepted', 'filed', 'returned', 'draft', 'accepted', 'filed', 'draft'],
  };
  for (const game of games.filter(({ week }) => week < weekToCome)) {
    const watchers = draws.chance(doubleShare) ? 2 : 1;
    for (let watcher = 0; watcher < watchers; watcher += 1) {
      made.push({
        game: game.key,
        observer: choose(game),
        // The second observer of a game looks at the film.
        how: watcher === 0 && draws.chance(0.65) ? 'in person' : 'film',
        answer: 'accepted',
        report: nextState[game.week]?.shift() ?? (game.week <= 9 ? 'released' : 'filed'),
      });
    }
  }
  const toCome = games.filter((game) => game.week === weekToCome);
  // Who signs in to the demo as an observer has a draft to finish and an offer to answer, for the nearest game.
  const drafting = conference.observers.find(({ email }) =>
    made.some((assignment) => assignment.observer === email && assignment.report === 'draft'),
  );
  const offered = drafting && nearestGame(conference, drafting, toCome);
  if (drafting && offered) {
    busy.add(`${drafting.email} ${offered.week}`);
    made.push({
      game: offered.key,
      observer: drafting.email,
      how: 'in person',
      answer: 'offered',
      report: null,
    });
  }
  const others = toCome.filter((game) => game !== offered);
  for (const [at, answer] of (['accepted', 'declined'] as const).entries()) {
    const game = others[at];
    if (game === undefined) continue;
    made.push({ game: game.key, observer: choose(game), how: 'in person', answer, report: null });
  }
  return made;
}

/** Near enough on a map: degrees of latitude, and of longitude shortened as they are at these latitudes. */
function nearestGame(
  conference: DemoConference,
  { homeLatitude, homeLongitude }: DemoConference['observers'][number],
  games: readonly DemoGame[],
): DemoGame | undefined {
  const away = (game: DemoGame) => {
    const venue = conference.venues.find(({ name }) => name === game.venue);
    return venue === undefined
      ? Infinity
      : Math.hypot(venue.latitude - homeLatitude, 0.8 * (venue.longitude - homeLongitude));
  };
  return [...games].sort((a, b) => away(a) - away(b))[0];
}
