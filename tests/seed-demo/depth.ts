import type { Play } from '../../server/football/play.ts';
import type { Position } from '../../server/football/positions.ts';
import type { Lane } from '../../server/football/sides.ts';

/**
 * Who can have seen what a duty is about, told without the program's own zones. Common practice, no source: wings and
 * the box have passes to 12 yards beyond the line and runners to 15, deep officials what is beyond; nobody works the
 * other sideline. On snaps at or inside the 5 wings have the goal line; in the end zone deep officials do, and nobody of
 * the box. On a short free kick those who are deep with the receivers, and on others those at the lines, are too far from
 * where it is caught; on a punt the wings and the box are from where it comes down. For crews with deep wings.
 */
const sides: Partial<Record<Position, Lane>> = {
  'head linesman': 'head linesman side',
  'side judge': 'head linesman side',
  'line judge': 'line judge side',
  'field judge': 'line judge side',
};
const isDeep = (position: Position) => ['side judge', 'field judge', 'back judge'].includes(position);

const aboutThePass = [
  'call-catch-or-no-catch',
  'both-officials-on-the-catch',
  'call-pass-interference',
  'keep-the-cushion',
  'incomplete-signal',
];
const aboutTheSpot = ['square-up-at-the-spot', 'hold-progress-with-the-feet', 'call-the-spot'];
const aboutTheKick = ['kick-ends-bag', 'bag-first-touching', 'fair-catch-signal-seen', 'call-kick-touching'];
const aboutTheLooseBall = ['bean-bag-at-the-fumble', 'call-fumble-or-down'];

/** Is this official too far from what the duty is about? Undefined for duties that are not about a place. */
export function isOutsideTheirDepth(play: Play, position: Position, dutyKey: string): boolean | undefined {
  if (play.kind === 'punt' || play.kind === 'free kick') return isTooFarFromTheKick(play, position, dutyKey);
  if (play.kind !== 'run' && play.kind !== 'pass') return undefined;
  if (aboutThePass.includes(dutyKey) && play.catchDepth !== undefined) {
    const inTheEndZone = play.spot + play.catchDepth >= 100;
    if (inTheEndZone) return isOfTheBox(position) || offSide(position, play.playSide);
    return tooFar(position, play.catchDepth, 12) || offSide(position, play.playSide);
  }
  if (aboutTheSpot.includes(dutyKey) && play.endSpot !== undefined)
    return tooFar(position, play.endSpot - play.spot, 15) || offSide(position, play.endSide);
  if (aboutTheLooseBall.includes(dutyKey) && play.looseBallSpot !== undefined)
    return tooFar(position, play.looseBallSpot - play.spot, 15) || offSide(position, play.looseBallSide);
  return undefined;
}

function isTooFarFromTheKick(play: Play, position: Position, dutyKey: string): boolean | undefined {
  const isPunt = play.kind === 'punt';
  if (isPunt && aboutTheSpot.includes(dutyKey) && play.endSpot !== undefined)
    return tooFar(position, play.endSpot - play.spot, 15) || offSide(position, play.endSide);
  if (!aboutTheKick.includes(dutyKey) || play.kickTo === undefined) return undefined;
  if (isPunt) return tooFar(position, play.kickTo - play.spot, 15) || offSide(position, play.kickSide);
  const isAtALine = !['referee', 'head linesman', 'line judge'].includes(position);
  return (
    isAtALine !== (play.onside === true) ||
    offSide(position, dutyKey === 'call-kick-touching' && play.onside ? undefined : play.kickSide)
  );
}

const isOfTheBox = (position: Position) => ['referee', 'umpire', 'center judge'].includes(position);

const tooFar = (position: Position, depth: number, wingsHaveTo: number) =>
  isDeep(position) ? depth <= wingsHaveTo : depth > wingsHaveTo;

function offSide(position: Position, lane: Lane | undefined): boolean {
  const side = sides[position];
  return side !== undefined && lane !== undefined && lane !== 'middle' && lane !== side;
}
