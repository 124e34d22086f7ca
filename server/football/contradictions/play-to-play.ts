import { clockInWords } from '../clock-words.ts';
import type { Code } from '../codes.ts';
import type { Play } from '../play.ts';
import { downOrdinals } from '../play-in-words.ts';
import { yardLineInWords } from '../yard-line-words.ts';
import { certainlyNoPenalty, type Found, type NumberedPlay } from './contradiction.ts';
import { type Start, whatFollows } from './what-follows.ts';

const mend = (what: string, before: number) =>
  `Correct ${what} or play ${before}, or insert the play that is missing.`;
/** Spots and distances are whole yards: a ball between two lines may be logged at either. */
const rounding = 1;

const either = (values: readonly string[]) => [...new Set(values)].join(' or ');

/** The down, distance, spot and team that do not follow from the play before. */
export function doesNotFollow(before: NumberedPlay, play: Play, code: Code): Found[] {
  if (mayBeANewStart(before.play, play)) return [];
  const last = before.play;
  const order = kindsInOrder(before, play);
  if (order) return [order];
  if (play.kind === 'free kick' || play.kind === 'try') return [];
  let starts = whatFollows(last, code);
  if (starts.length === 0) return [];

  const { down, distance, spot, offense } = play;
  const found: Found[] = [];
  const keep = (fits: (start: Start) => boolean): boolean => {
    const left = starts.filter(fits);
    if (left.length > 0) starts = left;
    return left.length > 0;
  };
  if (offense !== undefined && last.offense !== undefined) {
    const ball = offense === last.offense ? 'the same team' : 'the other team';
    if (!keep((start) => start.ball === ball)) {
      const says =
        ball === 'the same team'
          ? `The same team has the ball, but it lost it on play ${before.number}.`
          : `The other team has the ball, but play ${before.number} does not say how it got it.`;
      found.push({ fact: 'offense', says, fix: mend('the team with the ball', before.number) });
    }
  }
  if (down !== undefined && !keep((start) => start.down === down)) {
    const expected = either(starts.map((start) => downOrdinals[start.down]!));
    const says = `It is ${downOrdinals[down]} down, but after play ${before.number} it should be ${expected}.`;
    found.push({ fact: 'down', says, fix: mend('the down', before.number) });
  }
  const near = (value: number | undefined, to: number) =>
    value === undefined || Math.abs(value - to) <= rounding;
  if (!keep((start) => near(start.spot, spot))) {
    const expected = either(starts.map((start) => yardLineInWords(start.spot!)));
    const says = `The ball is put in play at ${yardLineInWords(spot)}, but after play ${before.number}, with no penalty, it should be at ${expected}.`;
    found.push({ fact: 'spot', says, fix: mend('the spot', before.number) });
  }
  const fits = found.length === 0;
  if (fits && distance !== undefined && !keep((start) => near(start.distance, distance))) {
    const expected = either(starts.map((start) => String(start.distance)));
    const says = `There are ${distance} to go, but after play ${before.number} there should be ${expected}.`;
    found.push({ fact: 'distance', says, fix: mend('the distance', before.number) });
  }
  return found;
}

/** The start of a half or of an overtime series owes nothing to the play before; without quarters nobody can tell. */
function mayBeANewStart(last: Play, play: Play): boolean {
  const half = ({ quarter = 5 }: Play) =>
    quarter <= 2 ? 'first' : quarter <= 4 ? 'second' : 'unknown or overtime';
  return half(last) !== half(play) || half(play) === 'unknown or overtime';
}

/** A free kick where nothing was scored, or another down where a free kick should follow. */
function kindsInOrder({ number, play: last }: NumberedPlay, play: Play): Found | undefined {
  const sameQuarter = last.quarter !== undefined && last.quarter === play.quarter;
  if (!sameQuarter || !certainlyNoPenalty(last) || last.replay === 'overturned') return undefined;
  if (play.kind === 'free kick' && (last.kind === 'run' || last.kind === 'pass') && last.score === 'none') {
    const says = `A free kick, but nothing was scored on play ${number} and no half began.`;
    return { fact: 'kind', says, fix: mend('the kind of play', number) };
  }
  const down =
    play.kind === 'run' || play.kind === 'pass' || play.kind === 'punt' || play.kind === 'place kick';
  const scored = last.score !== undefined && last.score !== 'none';
  if (!down || !(scored || last.kind === 'try')) return undefined;
  const after = last.kind === 'try' ? 'try' : last.score;
  const next = last.score === 'touchdown' ? 'a try' : 'a free kick';
  const says = `A ${play.kind}, but after the ${after} of play ${number} comes ${next}.`;
  return { fact: 'kind', says, fix: mend('the kind of play', number) };
}

/** From this overtime period on, the college code has tries only. */
const triesOnlyFrom = 7;

/** A try although the play that it follows was no touchdown; `before` are the plays before it, the last one first. */
export function tryWithoutTouchdown(before: Iterable<NumberedPlay>, play: Play): Found | undefined {
  if (play.kind !== 'try' || (play.quarter ?? 0) >= triesOnlyFrom) return undefined;
  for (const { number, play: last } of before) {
    if (last.kind === 'no snap' || last.kind === 'try') continue;
    if (last.score === undefined || last.score === 'touchdown') return undefined;
    return {
      fact: 'kind',
      says: `A try, but play ${number} scored no touchdown.`,
      fix: `Correct the kind of play or the score of play ${number}, or insert the play that is missing.`,
    };
  }
  return undefined;
}

/** The last quarter that was logged before a play, and the last clock in it. */
export type LastTime = Pick<Play, 'quarter' | 'clockSeconds'>;

/** A quarter or a clock that does not go on from the last one logged. */
export function timeRunsBackwards(last: LastTime, before: NumberedPlay, play: Play): Found[] {
  const { quarter, clockSeconds } = play;
  if (quarter === undefined || last.quarter === undefined) return [];
  if (quarter < last.quarter) {
    const says = `Quarter ${quarter} comes after quarter ${last.quarter}.`;
    return [{ fact: 'quarter', says, fix: 'Correct the quarter here or before, or move the play.' }];
  }
  if (before.play.quarter !== undefined && quarter > before.play.quarter + 1) {
    const says = `Quarter ${quarter} comes right after quarter ${before.play.quarter}.`;
    return [{ fact: 'quarter', says, fix: 'Correct the quarter, or insert the plays that are missing.' }];
  }
  const earlier = last.clockSeconds;
  if (quarter !== last.quarter || quarter > 4 || clockSeconds === undefined || earlier === undefined)
    return [];
  if (clockSeconds <= earlier) return [];
  const says = `${clockInWords(clockSeconds)} is left, but earlier in the same quarter it was ${clockInWords(earlier)}.`;
  return [{ fact: 'clockSeconds', says, fix: 'Correct the game clock here or before, or the quarter.' }];
}
