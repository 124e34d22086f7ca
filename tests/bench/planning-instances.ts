import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import type {
  Absence,
  Conflict,
  GameToWatch,
  ObserverToSend,
  PlanningProblem,
  Standing,
} from '../../server/planning/planning-problem.ts';
import { defaultPrices } from '../../server/planning/prices.ts';

/** Uniform draws in [0, 1) from a seed, so that every run measures the same instance. */
export function seeded(seed: number): () => number {
  const generator = xoroshiro128plus(seed);
  return () => uniformFloat64(generator);
}

export interface InstanceSize {
  readonly games: number;
  readonly observers: number;
  readonly crews: number;
  readonly teams: number;
  readonly firstWeek: number;
  readonly gamesPerWeek: number;
  /** Weeks already watched before the plan starts. */
  readonly weeksBehind: number;
  readonly observersWanted?: (random: number) => number;
}

function dayOf(week: number, day: number): string {
  return new Date(Date.UTC(2026, 8, 5 + 7 * (week - 1) + day)).toISOString().slice(0, 10);
}

/** An invented conference spread over a region of about 700 by 500 miles. */
export function planningInstance(size: InstanceSize, seed: number): PlanningProblem {
  const random = seeded(seed);
  const pick = (n: number) => Math.floor(random() * n);
  const place = () => ({ latitude: 33 + random() * 7, longitude: -98 + random() * 13 });
  const venues = Array.from({ length: size.teams }, place);
  const crew = (n: number) => `crew ${n}`;
  const official = (crewNumber: number, n: number) => `official ${crewNumber}-${n}`;
  const games: GameToWatch[] = Array.from({ length: size.games }, (_, n) => {
    const week = size.firstWeek + Math.floor(n / size.gamesPerWeek);
    const slot = n % size.gamesPerWeek;
    const home = (slot * 2 + week) % size.teams;
    const away = (slot * 2 + 1 + week) % size.teams;
    const crewNumber = (slot + week * 3) % size.crews;
    return {
      id: `game ${n}`,
      week,
      date: dayOf(week, random() < 0.2 ? -1 : 0),
      place: venues[home] ?? null,
      teamIds: [`team ${home}`, `team ${away}`],
      crewId: crew(crewNumber),
      officialIds: Array.from({ length: 8 }, (_, k) => official(crewNumber, k)),
      observersWanted: size.observersWanted?.(random()) ?? 1,
      filmAllowed: random() < 0.9,
    };
  });
  const weeks = [...new Set(games.map((game) => game.week))];
  const observers: ObserverToSend[] = Array.from({ length: size.observers }, (_, n) => {
    const absences: Absence[] = weeks
      .filter(() => random() < 0.12)
      .map((week) => ({
        from: dayOf(week, -2),
        to: dayOf(week, 1),
        of: random() < 0.5 ? 'in person' : 'all work',
      }));
    const conflicts: Conflict[] = [];
    if (random() < 0.7) conflicts.push({ kind: 'school tie', teamId: `team ${pick(size.teams)}` });
    if (random() < 0.3) conflicts.push({ kind: 'former crew', crewId: crew(pick(size.crews)) });
    if (random() < 0.1) conflicts.push({ kind: 'family', officialId: official(pick(size.crews), pick(8)) });
    return {
      id: `observer ${n}`,
      home: place(),
      modes: random() < 0.8 ? ['in person', 'film'] : ['in person'],
      absences,
      conflicts,
      weeklyLimit: random() < 0.8 ? 1 : 2,
      seasonLimit: 8 + pick(5),
      travelLimitMiles: 150 + 50 * pick(5),
    };
  });
  const standing: Standing[] = [];
  for (let week = size.firstWeek - size.weeksBehind; week < size.firstWeek; week += 1)
    for (let slot = 0; slot < size.gamesPerWeek; slot += 1)
      standing.push({
        observerId: `observer ${pick(size.observers)}`,
        gameId: `past game ${week}-${slot}`,
        week,
        date: dayOf(week, 0),
        mode: 'in person',
        crewId: crew((slot + week * 3) % size.crews),
      });
  return {
    games,
    observers,
    standing,
    locked: [],
    // The season's target for each crew counts when a season is planned, as in the program.
    crewTarget: size.games > size.gamesPerWeek ? { timesSeen: 5, differentObservers: 4 } : null,
    prices: defaultPrices,
  };
}
