import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { Lane } from '../sides.ts';
import { goalLineZone } from '../yardages.ts';
import type { CrewOnField } from './crew-on-field.ts';
import { standing } from './free-kicks.ts';
import type { Zone } from './place.ts';

const bothSides = (by: CrewOnField['wing']): Position[] => [
  ...new Set([by['head linesman side'], by['line judge side']]),
];

/**
 * Who has the defense's goal line: the wings on snaps at or inside the 5 and wherever there are no deep wings, else
 * the deep wings; on the ball's side, or both in the middle.
 */
export function goalLineOfficials(play: Play, crew: CrewOnField): Zone {
  return play.endSide === undefined ? 'unknown' : goalLineOfficialsAt(play.endSide, play.spot, crew);
}

function goalLineOfficialsAt(lane: Lane, spot: number, crew: CrewOnField): readonly Position[] {
  const by = spot >= 100 - goalLineZone || !crew.hasDeepWings ? crew.wing : crew.deepWing;
  return lane === 'middle' ? bothSides(by) : [by[lane]];
}

/** Who has a pass that comes down in the end zone: the back judge in the middle, else whose goal line it is on that side. */
export function zoneInTheEndZone(lane: Lane, spot: number, crew: CrewOnField): readonly Position[] {
  if (lane === 'middle' && crew.present.has('back judge')) return ['back judge'];
  return goalLineOfficialsAt(lane, spot, crew);
}

/**
 * Who has the goal line behind the offense when the other team runs toward it: the wings, by side or both; on a free
 * kick those who stand at the kicking team's line.
 */
export function ownGoalLineOfficials(play: Play, crew: CrewOnField): Zone {
  if (play.kind === 'free kick') {
    const there = standing("at the kicking team's line", crew);
    return there.length > 0 ? there : [crew.behindMiddle];
  }
  const lane = play.endSide;
  if (lane === undefined) return 'unknown';
  return lane === 'middle' ? bothSides(crew.wing) : [crew.wing[lane]];
}

/** Who has a score by a caught pass: the back judge in the middle of the end zone, else the goal line's officials. */
export function zoneOfTheCatchForScore(play: Play, crew: CrewOnField): Zone {
  const { catchDepth, playSide } = play;
  if (catchDepth === undefined) return 'unknown';
  if (play.spot + catchDepth >= 100 && crew.present.has('back judge')) {
    if (playSide === undefined) return 'unknown';
    if (playSide === 'middle') return ['back judge'];
  }
  return goalLineOfficials(play, crew);
}

/** Who rules on a touchdown, at whichever goal line it is. `ruledBy` prevails when it was logged. */
export function touchdownOfficials(play: Play, crew: CrewOnField): Zone {
  if (play.ruledBy !== undefined) return [play.ruledBy];
  if (play.endSpot === undefined) return 'unknown';
  if (play.endSpot <= 1) return ownGoalLineOfficials(play, crew);
  if (play.kind === 'pass' && play.passResult === undefined) return 'unknown';
  const caught =
    (play.kind === 'pass' && play.passResult === 'complete') ||
    (play.kind === 'try' && play.tryBy === 'pass');
  return caught ? zoneOfTheCatchForScore(play, crew) : goalLineOfficials(play, crew);
}

/**
 * Who rules on a safety: the wing on the side where the ball is dead, both in the middle; with them the referee when
 * the passer is tackled, when the ball is dead in the middle, and on a blocked kick. `ruledBy` prevails.
 */
export function rulesTheSafety(play: Play, position: Position, crew: CrewOnField): boolean | 'unknown' {
  if (play.ruledBy !== undefined) return play.ruledBy === position;
  const { endSide, kind, passResult } = play;
  if (position === crew.behindMiddle && !bothSides(crew.wing).includes(position)) {
    if (kind === 'punt' || endSide === 'middle' || (kind === 'pass' && passResult === 'sack')) return true;
    return endSide === undefined || (kind === 'pass' && passResult === undefined) ? 'unknown' : false;
  }
  if (endSide === undefined) return 'unknown';
  return (endSide === 'middle' ? bothSides(crew.wing) : [crew.wing[endSide]]).includes(position);
}
