import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { Lane, Side } from '../sides.ts';
import type { Truth } from '../three-valued.ts';
import { wingsEndPlaysTo, wingsHoldUntil } from '../yardages.ts';
import type { CrewOnField } from './crew-on-field.ts';

/** Those who have a place: one official, or several who share it. `unknown` when the place was not logged. */
export type Zone = readonly Position[] | 'unknown';

/** A place as the crew sees it: yards beyond the neutral zone (negative behind), and where across the field. */
interface Place {
  readonly depth: number | undefined;
  readonly lane: Lane | undefined;
}

/** Wings hold at the line, so a thrown ball leaves their zone sooner than a runner whom they follow. */
export const wingsZoneEnds = { thrown: wingsHoldUntil.to, carried: wingsEndPlaysTo } as const;

/** On a free-kick return the wings, who start deep, have the runner this far from the receiving team's goal line. */
export const wingsHaveReturnsTo = 35;

/** Whose zone a place is in on a play from scrimmage. Common practice, no source. */
export function zoneOf({ depth, lane }: Place, ball: keyof typeof wingsZoneEnds, crew: CrewOnField): Zone {
  if (depth === undefined || lane === undefined) return 'unknown';
  const deep = depth > wingsZoneEnds[ball];
  if (lane === 'middle') {
    if (depth < 0) return [crew.behindMiddle];
    return deep ? crew.deepMiddle : crew.shortMiddle;
  }
  return [deep ? crew.deepWing[lane] : crew.wing[lane]];
}

/** Whose a carried ball is at a yard line of any kind of play, free kicks too. */
export function zoneAt(
  play: Play,
  yard: number | undefined,
  lane: Lane | undefined,
  crew: CrewOnField,
): Zone {
  if (yard === undefined || lane === undefined) return 'unknown';
  if (play.kind !== 'free kick') return zoneOf({ depth: yard - play.spot, lane }, 'carried', crew);
  if (lane !== 'middle') return [sideOfficialAt(play, yard, lane, crew)!];
  return [crew.behindMiddle, ...crew.shortMiddle.filter((position) => position !== crew.behindMiddle)];
}

/** The official of a side at a yard line: the wing, or the deep wing beyond the wings' zone. */
export function sideOfficialAt(
  play: Play,
  yard: number | undefined,
  lane: Side,
  crew: CrewOnField,
): Position | undefined {
  if (yard === undefined) return undefined;
  const wingHasIt =
    play.kind === 'free kick' ? 100 - yard <= wingsHaveReturnsTo : yard - play.spot <= wingsZoneEnds.carried;
  return wingHasIt ? crew.wing[lane] : crew.deepWing[lane];
}

/** Is this the one official of a zone? In a shared zone nobody knows until it is logged who it was. */
export function isTheOneOf(zone: Zone, position: Position): Truth {
  if (zone === 'unknown') return 'unknown';
  if (!zone.includes(position)) return false;
  return zone.length === 1 ? true : 'unknown';
}

/** Is this one of the officials of a zone, all of whom have it? */
export function isAmong(zone: Zone, position: Position): Truth {
  return zone === 'unknown' ? 'unknown' : zone.includes(position);
}
