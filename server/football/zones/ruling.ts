import type { Play } from '../play.ts';
import type { CrewOnField } from './crew-on-field.ts';
import { zoneInTheEndZone } from './goal-lines.ts';
import { type Zone, zoneAt, zoneOf } from './place.ts';

/** In whose zone a pass was caught or touched, whoever ruled. A spike comes down at the feet of the passer. */
export function whereThePassComesDown(play: Play, crew: CrewOnField): Zone {
  const { snapFor, spot, catchDepth, playSide } = play;
  if (snapFor === 'spike') return [crew.behindMiddle];
  if (catchDepth !== undefined && playSide !== undefined && spot + catchDepth >= 100)
    return zoneInTheEndZone(playSide, spot, crew);
  return zoneOf({ depth: catchDepth, lane: playSide }, 'thrown', crew);
}

/** Who rules on a thrown pass where it was caught or touched. `ruledBy` prevails when it was logged. */
export function zoneOfThePass(play: Play, crew: CrewOnField): Zone {
  return play.ruledBy !== undefined ? [play.ruledBy] : whereThePassComesDown(play, crew);
}

/**
 * Who rules on a ball that comes loose, where it came loose: the referee on the passer and behind the line, the
 * official of that zone beyond. On a kick that is muffed or blocked it is decided by where that was.
 */
export function zoneOfTheLooseBall(play: Play, crew: CrewOnField): Zone {
  return play.ruledBy !== undefined ? [play.ruledBy] : whereItCameLoose(play, crew);
}

/** Whose bean bag it is: where several share the zone in which the ball came loose, who ruled on it saw it there. */
export function whoSawItComeLoose(play: Play, crew: CrewOnField): Zone {
  const zone = whereItCameLoose(play, crew);
  return zone !== 'unknown' && zone.length > 1 && play.ruledBy !== undefined ? [play.ruledBy] : zone;
}

/** The zone in which the ball came loose, whoever ruled. */
function whereItCameLoose(play: Play, crew: CrewOnField): Zone {
  const { kind, spot, passResult, looseBallSpot, looseBallSide } = play;
  if (kind === 'pass' && passResult === 'sack') return [crew.behindMiddle];
  if (looseBallSpot !== undefined && looseBallSpot < spot && kind !== 'free kick') return [crew.behindMiddle];
  // Whether the passer was tackled may still be open; then the place decides nothing yet.
  if (kind === 'pass' && passResult === undefined) return 'unknown';
  return zoneAt(play, looseBallSpot, looseBallSide, crew);
}
