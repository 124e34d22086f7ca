import { clockByRule } from './clock-by-rule.ts';
import type { Code } from './codes.ts';
import { withinAPlay } from './contradictions/within-a-play.ts';
import type { Fact, Play } from './play.ts';

/**
 * Facts that nobody needs to say because the others imply them, by their meaning or by the rules book: an incomplete
 * pass stops the clock, a fair catch was signalled for. Only of what is not logged; what is logged prevails. Nothing
 * is implied by a fact being left open.
 */
export function impliedFacts(play: Play, code: Code): Partial<Play> {
  const known: Play = { ...play };
  const implied: Partial<Play> = {};
  for (const rule of rules) {
    for (const [fact, value] of Object.entries(rule(known, code))) {
      if (value === undefined || known[fact as Fact] !== undefined) continue;
      if (contradicts(known, { [fact]: value }, code)) continue;
      Object.assign(known, { [fact]: value });
      Object.assign(implied, { [fact]: value });
    }
  }
  return implied;
}

/** Would these facts contradict what is known of the play? Then they are not implied, and not denied either. */
export function contradicts(known: Play, more: Partial<Play>, code: Code): boolean {
  return withinAPlay({ ...known, ...more }, code).length > withinAPlay(known, code).length;
}

type Rule = (play: Play, code: Code) => Partial<Play>;

const loseTheBall: Rule = ({
  kind,
  passResult,
  looseBall,
  backwardPass,
  down,
  distance,
  spot,
  endSpot,
  score,
  fouls,
}) => {
  if (
    (kind !== 'run' && kind !== 'pass') ||
    looseBall !== 'none' ||
    (score !== 'none' && passResult !== 'intercepted')
  )
    return {};
  if (passResult === 'intercepted') return { turnover: 'interception' };
  if (backwardPass !== false || (kind === 'pass' && passResult === undefined)) return {};
  if (down === undefined) return {};
  if (down < 4) return { turnover: 'none' };
  // On fourth down the line to gain decides, unless a foul may change what follows.
  const end = passResult === 'incomplete' ? spot : endSpot;
  if (distance === undefined || end === undefined || fouls === undefined || fouls.length > 0) return {};
  return { turnover: end - spot >= distance ? 'none' : 'downs' };
};

const theKick: Rule = (play) => {
  const { kind, kickResult, firstTouching, endSpot, kickTo, endSide, kickSide, looseBall, kickCrossed } =
    play;
  if (kind !== 'punt' && kind !== 'free kick') return {};
  const caughtThere: Partial<Play> = {
    ...(endSpot !== undefined && { kickTo: yardLine(endSpot) }),
    ...(kickTo !== undefined && { endSpot: kickTo }),
    ...(endSide !== undefined && { kickSide: endSide }),
    ...(kickSide !== undefined && { endSide: kickSide }),
  };
  const crossed: Partial<Play> = kind === 'punt' ? { kickCrossed: true } : {};
  // Of a kick that did not cross, touching does not count; of one first touched by the kickers both may have.
  const touched = (by: NonNullable<Play['kickTouchedBy']>): Partial<Play> =>
    firstTouching === false && kickCrossed !== false ? { kickTouchedBy: by } : {};
  switch (kickResult) {
    case 'fair catch':
      return {
        ...caughtThere,
        ...crossed,
        ...touched('receiving team'),
        fairCatchSignal: true,
        outOfBounds: false,
      };
    case 'returned':
      return { ...crossed, ...(looseBall === 'none' && touched('receiving team')) };
    case 'out of bounds':
      return {
        ...touched('nobody'),
        outOfBounds: true,
        ...(endSide !== undefined && { kickSide: endSide }),
        ...(kickSide !== undefined && { endSide: kickSide }),
      };
    case 'touchback':
      return { outOfBounds: false, ...crossed };
    case 'blocked':
      return { looseBall: 'blocked kick' };
    case 'downed':
      return { outOfBounds: false };
    default:
      return {};
  }
};

/** A dead-ball spot behind a goal line, as that goal line. */
const yardLine = (spot: number) => Math.max(0, Math.min(100, spot));

const placeKick: Rule = ({ kind, tryBy, kickResult }) => {
  const isTry = kind === 'try' && tryBy === 'kick';
  if (!isTry && kind !== 'place kick') return {};
  if (kickResult === 'good') return { score: isTry ? 'try good' : 'field goal' };
  if (kickResult === 'no good') return { score: 'none' };
  return kickResult === 'blocked' ? { looseBall: 'blocked kick' } : {};
};

const whereItEnds: Rule = ({
  kind,
  playSide,
  passResult,
  outOfBounds,
  timeoutBy,
  clockStoppedFor,
  helmetOffByFoul,
}) => ({
  ...(kind === 'pass' &&
    passResult === 'incomplete' && { outOfBounds: false, ...(playSide && { endSide: playSide }) }),
  ...(outOfBounds && { yardsFromSideline: 0 }),
  ...(timeoutBy !== undefined && { timeout: 'team' as const }),
  ...(clockStoppedFor === 'injury' && { injury: true }),
  ...(helmetOffByFoul === true && { helmetOff: true }),
});

const rules: readonly Rule[] = [whereItEnds, theKick, placeKick, loseTheBall, clockByRule];
