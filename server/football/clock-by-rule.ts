import { clockAtMost } from './about-the-clock.ts';
import { type Code, codeFacts } from './codes.ts';
import type { ClockStop, Play } from './play.ts';
import { and, type Truth } from './three-valued.ts';

/** Seconds before two minutes, and before the end of a period, in which one play may run past them. */
const onePlayLong = 45;
const twoMinutes = 120;

/**
 * What the rules book makes of the game clock after this play, as far as the facts tell: whether it runs on, what
 * stopped it, what it waits for. Empty while they leave that open, and where something else was logged of the clock.
 * NCAA 3-3-2, NFHS 3-4, from memory: check the current edition.
 */
export function clockByRule(play: Play, code: Code): Partial<Play> {
  const { kind, quarter } = play;
  const unlessSaid = (stop: ClockStop, facts: Partial<Play>) => (saysOtherwise(play, stop) ? {} : facts);
  // The game clock is off during a try and in overtime (NCAA 3-3-2 and 3-1-3, NFHS 3-1, from memory): nothing stops it.
  if (kind === 'try' || (quarter ?? 0) > 4) return unlessSaid('none', { clockStoppedFor: 'none' });
  if (kind === 'no snap' || quarter === undefined) return {};
  const stop = whatStopsTheClock(play, code);
  if (stop === undefined) return {};
  if (stop !== 'none')
    return unlessSaid(stop, { clockAfter: 'stopped', clockStoppedFor: stop, ...startsOn(play, stop, code) });
  // A clock that runs may reach two minutes or the end of the period before the next snap.
  if (clockAtMost(play, onePlayLong) !== false) return {};
  const reaches = and(isLate(play) !== false, clockAtMost(play, twoMinutes) !== true);
  if (codeFacts[code].twoMinuteTimeout && reaches) return {};
  return unlessSaid(stop, { clockAfter: 'running', clockStoppedFor: 'none' });
}

/** Is the ball dead in the last two minutes of a half? Unknown for a play that may run past them. */
function isLate(play: Play): Truth {
  if (play.quarter === 1 || play.quarter === 3) return false;
  if (clockAtMost(play, twoMinutes) === true) return true;
  return clockAtMost(play, twoMinutes + onePlayLong) === false ? false : 'unknown';
}

/** Was something logged of the clock that does not go with this? It prevails, and nothing is added to it. */
function saysOtherwise(
  { clockAfter, clockStoppedFor, clockStoppedBy, clockStartsOn }: Play,
  stop: ClockStop,
): boolean {
  if (clockStoppedFor !== undefined && clockStoppedFor !== stop) return true;
  return stop === 'none'
    ? clockAfter === 'stopped' || clockStoppedBy !== undefined || clockStartsOn !== undefined
    : clockAfter === 'running';
}

/** What stops the clock first; undefined while the facts leave that open. */
function whatStopsTheClock(play: Play, code: Code): ClockStop | undefined {
  const { kind, score, passResult, outOfBounds, turnover, fouls, looseBall } = play;
  if (score === undefined) return undefined;
  if (score !== 'none') return 'score';
  if (kind === 'pass' && passResult === 'incomplete') return 'incomplete pass';
  if (kind === 'pass' && passResult === undefined) return undefined;
  // A loose ball that goes out, or that the other team recovers, has rules of its own.
  if (looseBall === undefined || outOfBounds === undefined) return undefined;
  if (outOfBounds) return looseBall === 'none' ? 'out of bounds' : undefined;
  if (turnover === undefined) return undefined;
  if (turnover !== 'none' || kind === 'punt' || kind === 'free kick' || kind === 'place kick')
    return 'change of possession';
  if (fouls === undefined) return undefined;
  if (fouls.some(({ outcome }) => outcome !== 'picked up')) return 'foul';
  const reaches = reachesTheLine(play, code);
  if (reaches !== false) return reaches ? 'first down' : undefined;
  const { helmetOff, injury, measured, replay, timeout } = play;
  if (helmetOff === undefined || injury === undefined || measured === undefined) return undefined;
  if (replay === undefined || timeout === undefined) return undefined;
  if (helmetOff) return 'helmet off';
  if (injury) return 'injury';
  if (measured) return 'measurement';
  if (replay !== 'none') return 'review';
  if (timeout !== 'none') return timeout === 'team' ? 'team time-out' : 'official time-out';
  return 'none';
}

/** Does a first down stop the clock here? Undefined when nobody can tell. */
function reachesTheLine(play: Play, code: Code): boolean | undefined {
  const { spot, distance, endSpot, lineToGainInQuestion: close, measured } = play;
  if (codeFacts[code].firstDownStopsClock === 'late in a half') {
    const late = isLate(play);
    if (late !== true) return late === false ? false : undefined;
  }
  if (spot + (distance ?? 0) >= 100) return false;
  if (distance === undefined || endSpot === undefined || close || measured) return undefined;
  return endSpot - spot >= distance;
}

/** What a stopped clock waits for, where the rules leave no choice. */
function startsOn(play: Play, stop: ClockStop, code: Code): Partial<Play> {
  if (stop === 'incomplete pass' || stop === 'change of possession' || stop === 'team time-out')
    return { clockStartsOn: 'snap' };
  if (stop === 'first down') return { clockStartsOn: 'ready' };
  if (stop !== 'out of bounds') return {};
  // Whose first down follows decides: a new series of the other team starts the clock on the snap.
  if (play.kind === 'punt' || play.kind === 'free kick') return { clockStartsOn: 'snap' };
  if (play.turnover !== 'none') return play.turnover === undefined ? {} : { clockStartsOn: 'snap' };
  if (codeFacts[code].afterOutOfBounds === 'snap') return { clockStartsOn: 'snap' };
  const late = isLate(play);
  return late === 'unknown' ? {} : { clockStartsOn: late ? 'snap' : 'ready' };
}
