import { clockInWords } from '../clock-words.ts';
import type { CodeFacts } from '../codes.ts';
import type { Play } from '../play.ts';

/** A piece of a game of which nothing is logged. */
interface TimeWithoutPlays {
  readonly what: 'quarter' | 'time';
  readonly says: string;
  /** The play after it, else the one before it, by its place in the log; undefined: the log is empty. */
  readonly at: number | undefined;
}

/**
 * More game clock than this between two snaps, and plays are missing: with a play clock of 40 seconds, a play and a
 * running clock, two snaps are rarely more than a minute apart. Common practice, no source.
 */
const longest = 120;
/** What a play that has no clock may account for. */
const usualPlay = 45;

const ordinals = ['', '1st', '2nd', '3rd', '4th'];

/** Quarters without a play, and stretches of game clock inside a quarter without one. Estimated clocks are not looked at. */
export function timeWithoutPlays(plays: readonly Play[], { quarterSeconds }: CodeFacts): TimeWithoutPlays[] {
  if (plays.length === 0) return [];
  const found: TimeWithoutPlays[] = [];
  if (plays.every(({ quarter }) => quarter === undefined)) {
    return [{ what: 'quarter', says: 'No play says in which quarter it was.', at: 0 }];
  }
  for (let quarter = 1; quarter <= 4; quarter += 1) {
    const first = plays.findIndex((play) => play.quarter === quarter);
    if (first === -1) {
      const after = plays.findIndex((play) => (play.quarter ?? 0) > quarter);
      found.push({
        what: 'quarter',
        says: `No play of the ${ordinals[quarter]} quarter is logged.`,
        at: after === -1 ? plays.length - 1 : after,
      });
      continue;
    }
    found.push(...gapsIn(plays, quarter, quarterSeconds));
  }
  return found;
}

function gapsIn(plays: readonly Play[], quarter: number, quarterSeconds: number): TimeWithoutPlays[] {
  const found: TimeWithoutPlays[] = [];
  const name = `${ordinals[quarter]} quarter`;
  let last: { clock: number; at: number | undefined } = { clock: quarterSeconds, at: undefined };
  let without = 0;
  let seen: number | undefined;
  let clocks = 0;
  for (const [at, play] of plays.entries()) {
    if (play.quarter !== quarter) continue;
    seen = at;
    if (play.clockSeconds === undefined) {
      without += 1;
      continue;
    }
    clocks += 1;
    const gap = last.clock - play.clockSeconds;
    if (gap > longest + without * usualPlay) {
      const says =
        last.at === undefined
          ? `The ${name} begins with ${clockInWords(play.clockSeconds)} left.`
          : `In the ${name} nothing is logged between ${clockInWords(last.clock)} and ${clockInWords(play.clockSeconds)}.`;
      found.push({ what: 'time', says, at });
    }
    last = { clock: play.clockSeconds, at };
    without = 0;
  }
  // Without any clock nothing can be said of it.
  if (clocks > 0 && last.clock > longest + without * usualPlay) {
    found.push({ what: 'time', says: `The ${name} ends with ${clockInWords(last.clock)} left.`, at: seen });
  }
  return found;
}
