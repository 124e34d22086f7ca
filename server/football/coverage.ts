import type { Play } from './play.ts';
import type { Position } from './positions.ts';
import type { Lane } from './sides.ts';
import { wingsEndPlaysTo } from './yardages.ts';

/**
 * Which official of a full crew ends a run or pass play, from where the ball was dead: behind the line in the
 * middle it is the referee; up to 15 yards beyond it, the wing of that side (in the middle, both wings mark it);
 * deeper, the deep official of that side, or the back judge in the middle. Common practice, no source.
 *
 * An official whom the observer noted as the one who ended the play prevails. Unknown when the place was not
 * logged, and on kicks, where it depends on the return.
 */
export function coveringOfficials(play: Play): readonly Position[] | 'unknown' {
  if (play.endedBy !== undefined) return [play.endedBy];
  if (play.kind !== 'run' && play.kind !== 'pass') return 'unknown';
  const { endSide, endSpot } = play;
  if (endSide === undefined || endSpot === undefined) return 'unknown';
  const gain = endSpot - play.spot;
  if (gain > wingsEndPlaysTo) {
    return endSide === 'middle' ? ['back judge'] : [deepOfficialOn(endSide)];
  }
  if (endSide !== 'middle') return [wingOn(endSide)];
  return gain < 0 ? ['referee'] : ['head linesman', 'line judge'];
}

function wingOn(side: Exclude<Lane, 'middle'>): Position {
  return side === 'head linesman side' ? 'head linesman' : 'line judge';
}

function deepOfficialOn(side: Exclude<Lane, 'middle'>): Position {
  return side === 'head linesman side' ? 'side judge' : 'field judge';
}
