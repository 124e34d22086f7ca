import type { Code } from '../codes.ts';
import type { Play } from '../play.ts';
import { type Position, positions } from '../positions.ts';
import type { Side } from '../sides.ts';
import type { CrewOnField } from '../zones/crew-on-field.ts';
import { type BallMark, ballMarks, pointOf } from './ball-marks.ts';
import { alongOf, endZone, fieldLength, type Point } from './field-measures.ts';
import { type LineUp, lineUpOf, stationsOf } from './stations.ts';
import { type ZoneOfTheEnd, zoneOfTheEnd } from './zone-of-the-end.ts';

/** One stretch of the ball's way, drawn as a straight line whatever its real path was. */
interface Stretch {
  readonly from: Point;
  readonly to: Point;
  /** `not logged`: thrown or kicked somewhere between, nobody logged where. */
  readonly by: 'air' | 'ground' | 'not logged';
}

export interface OfficialOnField extends Point {
  readonly position: Position;
  /** Owed something on this play. */
  readonly owes: boolean;
}

/** A play on the part of the field that it concerned, in yards of the field (see `field-measures.ts`). */
export interface PlayDrawing {
  readonly code: Code;
  /** The part along the field that is drawn. */
  readonly from: number;
  readonly to: number;
  /** Where the line to gain is; undefined when not known, or when it is goal to go. */
  readonly lineToGain: number | undefined;
  readonly lineOfScrimmage: number;
  /** The receiving team's line on a free kick. */
  readonly receivingLine: number | undefined;
  readonly marks: readonly BallMark[];
  readonly path: readonly Stretch[];
  readonly zone: ZoneOfTheEnd | undefined;
  readonly lineUp: LineUp | 'unknown';
  /** Where they stood before the snap; empty while nobody is at work or the line-up is not known. */
  readonly officials: readonly OfficialOnField[];
}

/** The referee stands on the side of the passer's throwing arm, which nobody logs: drawn for a right-handed one. */
const usualArm: Side = 'line judge side';

export function drawPlay(
  play: Play,
  crew: CrewOnField,
  code: Code,
  owing: ReadonlySet<Position>,
  arm: Side = usualArm,
): PlayDrawing {
  const marks = ballMarks(play, code);
  const snap = marks[0]!;
  const ball = { x: (snap.across.from + snap.across.to) / 2, y: snap.y };
  const lineUp = lineUpOf(play);
  const stations: ReadonlyMap<Position, Point> =
    lineUp === 'unknown' ? new Map() : stationsOf({ lineUp, ball, arm }, crew);
  const officials = positions
    .filter((position) => stations.has(position))
    .map((position) => ({ position, ...stations.get(position)!, owes: owing.has(position) }));
  const receivingLine = play.kind === 'free kick' ? Math.min(fieldLength, ball.y + 10) : undefined;
  const lineToGain = lineToGainOf(play);
  const shown = [
    ...marks.map(({ y }) => y),
    ...officials.map(({ y }) => y),
    ...(lineToGain === undefined ? [] : [lineToGain]),
    ...(receivingLine === undefined ? [] : [receivingLine]),
  ];
  return {
    code,
    ...windowAround(shown),
    lineToGain,
    lineOfScrimmage: ball.y,
    receivingLine,
    marks,
    path: pathOf(play, marks, ball),
    zone: zoneOfTheEnd(play, marks.at(-1), crew, code),
    lineUp,
    officials,
  };
}

function lineToGainOf({ kind, spot, down, distance }: Play): number | undefined {
  if (kind === 'free kick' || kind === 'try' || down === undefined || distance === undefined)
    return undefined;
  return spot + distance >= 100 ? undefined : alongOf(spot + distance);
}

const margin = 3;
const leastShown = 25;

/** From yard line to yard line around everything that is drawn; with the whole end zone where any of it is in sight. */
function windowAround(ys: readonly number[]): { from: number; to: number } {
  let from = Math.floor((Math.min(...ys) - margin) / 5) * 5;
  let to = Math.ceil((Math.max(...ys) + margin) / 5) * 5;
  if (to - from < leastShown) {
    const more = Math.ceil((leastShown - (to - from)) / 10) * 5;
    from -= more;
    to += more;
  }
  // Two yards more than the outermost yard line, which carries a number; but no further than the end lines.
  from = from <= endZone ? 0 : from - 2;
  to = to >= fieldLength - endZone ? fieldLength : to + 2;
  return { from, to };
}

function pathOf(play: Play, marks: readonly BallMark[], ball: Point): Stretch[] {
  const stretches: Stretch[] = [];
  let from = ball;
  let inHand = flies(play) ? ('in the air' as const) : ('carried' as const);
  for (const mark of marks.slice(1)) {
    const to = pointOf(mark);
    const lands = landings.has(mark.kind);
    if (to !== undefined) {
      const by = lands ? 'air' : inHand === 'in the air' ? 'not logged' : 'ground';
      stretches.push({ from, to, by });
      from = to;
    } else if (lands) {
      // It came down on a side that nobody logged: from here on the way is not known.
      inHand = 'in the air';
      continue;
    }
    inHand = 'carried';
  }
  return stretches;
}

const landings = new Set<BallMark['kind']>(['caught', 'intercepted', 'fell incomplete', 'kick came down']);

function flies({ kind, passResult, kickResult, tryBy }: Play): boolean {
  if (kind === 'pass' || (kind === 'try' && tryBy === 'pass'))
    return passResult !== 'sack' && passResult !== 'scramble';
  return (kind === 'punt' || kind === 'free kick' || kind === 'place kick') && kickResult !== 'blocked';
}
