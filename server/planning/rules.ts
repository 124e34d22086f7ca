import { milesBetween } from './distance.ts';
import type { Choice, Conflict, GameToWatch, Mode, ObserverToSend, Standing } from './planning-problem.ts';

/** The hard rules. The planner never breaks one; a coordinator may, by hand, with a reason. */
export const rules = [
  'way of watching',
  'availability',
  'declared conflict',
  'travel limit',
  'one place at a time',
  'weekly limit',
  'season limit',
] as const;
export type Rule = (typeof rules)[number];

export interface BrokenRule {
  readonly rule: Rule;
  /** One sentence without the observer's name: "lives 231 mi away, limit 200". */
  readonly why: string;
}

/** One-way miles, or null when either end has no coordinates. */
export function tripMiles(observer: ObserverToSend, game: GameToWatch): number | null {
  return observer.home && game.place ? milesBetween(observer.home, game.place) : null;
}

function conflictTouches(conflict: Conflict, game: GameToWatch): boolean {
  if (conflict.teamId !== undefined && game.teamIds.includes(conflict.teamId)) return true;
  if (conflict.officialId !== undefined && game.officialIds.includes(conflict.officialId)) return true;
  return conflict.crewId !== undefined && conflict.crewId === game.crewId;
}

function conflictInWords(conflict: Conflict): string {
  const party =
    conflict.teamId !== undefined
      ? 'a team in this game'
      : conflict.officialId !== undefined
        ? 'an official of this game'
        : 'the crew of this game';
  return `declared a conflict (${conflict.kind}) with ${party}`;
}

/**
 * The rules that one observer on one game would break whatever else is planned.
 * @param miles one-way distance, null when unknown (an unknown distance breaks no limit; the page warns).
 */
export function rulesBrokenAlone(
  observer: ObserverToSend,
  game: GameToWatch,
  mode: Mode,
  miles: number | null,
): BrokenRule[] {
  const broken: BrokenRule[] = [];
  if (!observer.modes.includes(mode))
    broken.push({ rule: 'way of watching', why: `does not watch ${inWords(mode)}` });
  else if (mode === 'film' && !game.filmAllowed)
    broken.push({ rule: 'way of watching', why: 'the game is not open to film review' });
  if (observer.declinedGameIds?.includes(game.id))
    broken.push({ rule: 'availability', why: 'declined this game' });
  for (const absence of observer.absences) {
    if (mode === 'film' && absence.of === 'in person') continue;
    if (game.date >= absence.from && game.date <= absence.to) {
      broken.push({ rule: 'availability', why: `is away from ${absence.from} to ${absence.to}` });
      break;
    }
  }
  // One person may be an observer and an official: nobody grades a game they work, or their own crew.
  if (game.officialIds.includes(observer.id))
    broken.push({ rule: 'declared conflict', why: 'works this game as an official' });
  for (const conflict of observer.conflicts)
    if (conflictTouches(conflict, game))
      broken.push({ rule: 'declared conflict', why: conflictInWords(conflict) });
  if (
    mode === 'in person' &&
    miles !== null &&
    observer.travelLimitMiles !== null &&
    miles > observer.travelLimitMiles
  )
    broken.push({
      rule: 'travel limit',
      why: `lives ${Math.round(miles)} mi away, limit ${Math.round(observer.travelLimitMiles)}`,
    });
  return broken;
}

export function inWords(mode: Mode): string {
  return mode === 'film' ? 'on film' : 'in person';
}

type Dated = Pick<Standing, 'gameId' | 'observerId' | 'week' | 'date' | 'mode'>;

/**
 * The rules that one more choice would break beside the observer's other assignments.
 * @param others every other assignment that stands or is planned, of any observer; the same game is left out.
 */
export function rulesBrokenBeside(
  observer: ObserverToSend,
  game: GameToWatch,
  mode: Mode,
  others: Iterable<Dated>,
): BrokenRule[] {
  let inWeek = 0;
  let inSeason = 0;
  let elsewhere = false;
  for (const other of others) {
    if (other.observerId !== observer.id || other.gameId === game.id) continue;
    inSeason += 1;
    if (other.week === game.week) inWeek += 1;
    if (mode === 'in person' && other.mode === 'in person' && other.date === game.date) elsewhere = true;
  }
  const broken: BrokenRule[] = [];
  if (elsewhere) broken.push({ rule: 'one place at a time', why: `is at another game on ${game.date}` });
  if (observer.weeklyLimit !== null && inWeek + 1 > observer.weeklyLimit)
    broken.push({
      rule: 'weekly limit',
      why: `would have ${inWeek + 1} games in week ${game.week}, limit ${observer.weeklyLimit}`,
    });
  if (observer.seasonLimit !== null && inSeason + 1 > observer.seasonLimit)
    broken.push({
      rule: 'season limit',
      why: `would have ${inSeason + 1} games in the season, limit ${observer.seasonLimit}`,
    });
  return broken;
}

export function asStanding(choice: Choice, game: GameToWatch): Standing {
  return { ...choice, week: game.week, date: game.date, crewId: game.crewId };
}
