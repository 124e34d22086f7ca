import type { Play } from '../play.ts';
import { type Position, positions } from '../positions.ts';
import type { Side } from '../sides.ts';
import { goalLineZone } from '../yardages.ts';
import type { CrewOnField } from '../zones/crew-on-field.ts';
import { freeKickStation } from '../zones/free-kicks.ts';
import { atTheLineOnTheSnap, underTheUprights } from '../zones/kicks.ts';
import { alongOf, endZone, fieldLength, fieldWidth, type Point } from './field-measures.ts';

/** The formation that decides where a crew lines up. */
export const lineUps = [
  'scrimmage',
  'goal line',
  'reverse goal line',
  'punt',
  'place kick',
  'free kick',
] as const;
export type LineUp = (typeof lineUps)[number];

/** How the crew lined up for this play; `unknown` for a try of which nobody logged whether it was a kick. */
export function lineUpOf({ kind, spot, tryBy }: Play): LineUp | 'unknown' {
  if (kind === 'free kick' || kind === 'punt' || kind === 'place kick') return kind;
  if (kind === 'try') {
    if (tryBy === undefined) return 'unknown';
    if (tryBy === 'kick') return 'place kick';
  }
  if (spot >= 100 - goalLineZone) return 'goal line';
  return spot <= goalLineZone ? 'reverse goal line' : 'scrimmage';
}

interface Stationing {
  readonly lineUp: LineUp;
  /** Where the ball lies, in yards of the field. */
  readonly ball: Point;
  /** The side of the passer's throwing arm or the kicker's leg, where the referee stands. */
  readonly arm: Side;
}

const outside = 1;
const left = -outside;
const right = fieldWidth + outside;
const middle = fieldWidth / 2;
const goalLine = alongOf(100);
const endLine = fieldLength;

/**
 * Where each official of the crew stands before the snap or kick, in yards of the field, within it or just outside its
 * lines. Common practice, no source: crews differ by a few yards, and the conference's own manual prevails.
 */
export function stationsOf(at: Stationing, crew: CrewOnField): ReadonlyMap<Position, Point> {
  const station = stationIn(at.lineUp);
  return new Map(
    positions
      .filter((position) => crew.present.has(position))
      .map((position) => [position, onTheField(station(position, at, crew))]),
  );
}

function stationIn(lineUp: LineUp): typeof onSnap {
  if (lineUp === 'free kick') return onFreeKick;
  if (lineUp === 'place kick') return onPlaceKick;
  return lineUp === 'punt' ? onPunt : onSnap;
}

const onTheField = ({ x, y }: Point): Point => ({
  x: Math.min(right, Math.max(left, x)),
  y: Math.min(endLine + outside, Math.max(-outside, y)),
});

const towardArm = (arm: Side, yards: number) => (arm === 'line judge side' ? yards : -yards);

function onSnap(position: Position, { lineUp, ball, arm }: Stationing, crew: CrewOnField): Point {
  const nearGoal = lineUp === 'goal line';
  const wingLine = nearGoal ? goalLine : ball.y;
  // Deep officials let nobody behind them: near the goal they stand on the goal line or the end line instead.
  const deepWingLine = nearGoal ? endLine : Math.min(goalLine, ball.y + 20);
  const backLine = ball.y + 25 >= goalLine ? endLine : ball.y + (crew.hasDeepWings ? 25 : 20);
  switch (position) {
    case 'referee':
      return { x: ball.x + towardArm(arm, 5), y: ball.y - 12 };
    case 'center judge':
      return { x: ball.x - towardArm(arm, 5), y: ball.y - 12 };
    case 'umpire':
      return { x: ball.x, y: ball.y + 7 };
    case 'head linesman':
      return { x: left, y: wingLine };
    case 'line judge':
      return { x: right, y: wingLine };
    case 'side judge':
      return { x: left, y: deepWingLine };
    case 'field judge':
      return { x: right, y: deepWingLine };
    case 'back judge':
      return { x: middle, y: backLine };
  }
}

function onPunt(position: Position, at: Stationing, crew: CrewOnField): Point {
  const { ball, arm } = at;
  switch (position) {
    case 'referee':
      return { x: ball.x + towardArm(arm, 6), y: ball.y - 15 };
    case 'center judge':
      return { x: ball.x - towardArm(arm, 6), y: ball.y - 12 };
    case 'side judge':
      return { x: left, y: Math.min(goalLine, ball.y + 35) };
    case 'field judge':
      return { x: right, y: Math.min(goalLine, ball.y + 35) };
    case 'back judge':
      // Behind the receiver and to one side of him.
      return { x: middle - towardArm(arm, 6), y: Math.min(goalLine, ball.y + 45) };
    case 'umpire':
      return { x: ball.x, y: ball.y + 7 };
    default: {
      const { x, y } = onSnap(position, { ...at, lineUp: 'scrimmage' }, crew);
      const holdsTheLine = atTheLineOnTheSnap({ kind: 'punt', spot: 0 }, crew).includes(position);
      return { x, y: holdsTheLine ? y : Math.min(goalLine, ball.y + 40) };
    }
  }
}

function onPlaceKick(position: Position, { ball, arm }: Stationing, crew: CrewOnField): Point {
  const under = underTheUprights(crew).indexOf(position);
  if (under >= 0) return { x: middle + (under === 0 ? 3 : -3), y: endLine + outside };
  const secondUmpire = crew.present.has('center judge')
    ? 'center judge'
    : crew.present.has('back judge') && crew.present.has('side judge')
      ? 'side judge'
      : undefined;
  if (position === secondUmpire) return { x: ball.x - 4, y: ball.y + 6 };
  switch (position) {
    // The holder kneels about seven yards behind the line; the referee faces him from the side.
    case 'referee':
      return { x: ball.x + towardArm(arm, 5), y: ball.y - 8 };
    case 'side judge':
      return { x: left, y: ball.y >= goalLine - goalLineZone ? endLine : goalLine };
    case 'umpire':
      return { x: secondUmpire === undefined ? ball.x : ball.x + 4, y: ball.y + 6 };
    case 'line judge':
      return { x: right, y: ball.y };
    default:
      return { x: left, y: ball.y };
  }
}

function onFreeKick(position: Position, { ball }: Stationing, crew: CrewOnField): Point {
  const receivers = ball.y + 10;
  switch (freeKickStation(position, crew)) {
    case 'deep':
      if (position === 'head linesman') return { x: left, y: goalLine - 10 };
      if (position === 'line judge') return { x: right, y: goalLine - 10 };
      return { x: middle, y: position === 'referee' ? goalLine - endZone / 2 : goalLine };
    case "at the receiving team's line":
      if (position === 'head linesman' || position === 'side judge') return { x: left, y: receivers };
      if (position === 'center judge' || position === 'back judge') return { x: middle, y: receivers + 5 };
      return { x: right, y: receivers };
    case "at the kicking team's line":
      return { x: position === 'umpire' ? right : left, y: ball.y };
  }
}
