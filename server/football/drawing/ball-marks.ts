import type { Code } from '../codes.ts';
import type { Play } from '../play.ts';
import type { Lane } from '../sides.ts';
import {
  alongOf,
  fieldLength,
  fieldWidth,
  hashFromSideline,
  mirrorAcross,
  type Point,
} from './field-measures.ts';

const ballMarkKinds = [
  'snapped',
  'kicked',
  'caught',
  'fell incomplete',
  'intercepted',
  'kick came down',
  'came loose',
  'dead',
] as const;
type BallMarkKind = (typeof ballMarkKinds)[number];

/** A place of the ball as far as it was logged. */
export interface BallMark {
  readonly kind: BallMarkKind;
  /** 0..100 from the offense's goal line; beyond it in the end zones. */
  readonly yards: number;
  readonly lane: Lane | undefined;
  readonly y: number;
  /** Between these the ball was across the field; equal when it is known to the yard. */
  readonly across: { readonly from: number; readonly to: number };
  /** Out of bounds, and so on the sideline. */
  readonly out: boolean;
}

/** The middle of where a mark may be; undefined while nobody logged which side. */
export function pointOf({ lane, y, across }: BallMark): Point | undefined {
  return lane === undefined ? undefined : { x: (across.from + across.to) / 2, y };
}

/** The third of the field that a lane is: outside the hash marks of its side, or between them. */
export function laneAcross(lane: Lane | undefined, code: Code): { from: number; to: number } {
  const hash = hashFromSideline[code];
  switch (lane) {
    case 'head linesman side':
      return { from: 0, to: hash };
    case 'middle':
      return { from: hash, to: mirrorAcross(hash) };
    case 'line judge side':
      return { from: mirrorAcross(hash), to: fieldWidth };
    default:
      return { from: 0, to: fieldWidth };
  }
}

const exactly = (x: number) => ({ from: x, to: x });

/** The ball is put in play on a hash mark or between the two, never outside. */
function snapAcross(lane: Lane | undefined, code: Code) {
  const hash = hashFromSideline[code];
  if (lane === 'head linesman side') return exactly(hash);
  if (lane === 'line judge side') return exactly(mirrorAcross(hash));
  return lane === 'middle' ? exactly(fieldWidth / 2) : { from: hash, to: mirrorAcross(hash) };
}

function endAcross({ endSide: lane, outOfBounds, yardsFromSideline }: Play, code: Code) {
  const within = laneAcross(lane, code);
  if (lane === undefined || lane === 'middle') return within;
  const distance = outOfBounds === true ? 0 : yardsFromSideline;
  if (distance === undefined || distance > hashFromSideline[code]) return within;
  return exactly(lane === 'head linesman side' ? distance : mirrorAcross(distance));
}

function passMark(play: Play): BallMarkKind | undefined {
  switch (play.passResult) {
    case 'complete':
      return 'caught';
    case 'incomplete':
      return 'fell incomplete';
    case 'intercepted':
      return 'intercepted';
    default:
      return undefined;
  }
}

/**
 * Where the ball was, in the order of the play: put in play, caught or come down, come loose, dead. Only what was
 * logged. A place beyond the end lines cannot be: it is left out here and told by `beyondTheField`.
 */
export function ballMarks(play: Play, code: Code): readonly BallMark[] {
  return allMarks(play, code).filter(({ y }) => y >= 0 && y <= fieldLength);
}

export function beyondTheField(play: Play, code: Code): readonly BallMark[] {
  return allMarks(play, code).filter(({ y }) => y < 0 || y > fieldLength);
}

function allMarks(play: Play, code: Code): BallMark[] {
  const { kind, spot, catchDepth, kickTo, looseBallSpot, endSpot } = play;
  const mark = (
    what: BallMarkKind,
    yards: number | undefined,
    lane: Lane | undefined,
    across = laneAcross(lane, code),
    out = false,
  ): BallMark[] => (yards === undefined ? [] : [{ kind: what, yards, lane, y: alongOf(yards), across, out }]);
  const isKick = kind === 'punt' || kind === 'free kick' || kind === 'place kick';
  const pass = kind === 'pass' || (kind === 'try' && play.tryBy === 'pass') ? passMark(play) : undefined;
  const caughtAt = pass === undefined || catchDepth === undefined ? undefined : spot + catchDepth;
  const loose = play.looseBall !== undefined && play.looseBall !== 'none';
  // An incomplete pass goes back to where it was snapped: its end is where it fell.
  const ended = kind === 'no snap' || pass === 'fell incomplete' ? undefined : endSpot;
  return [
    ...mark(
      kind === 'free kick' ? 'kicked' : 'snapped',
      spot,
      play.snapSide,
      snapAcross(play.snapSide, code),
    ),
    ...(pass === undefined ? [] : mark(pass, caughtAt, play.playSide)),
    ...(isKick ? mark('kick came down', kickTo, play.kickSide) : []),
    ...(loose ? mark('came loose', looseBallSpot, play.looseBallSide) : []),
    ...mark('dead', ended, play.endSide, endAcross(play, code), play.outOfBounds === true),
  ];
}
