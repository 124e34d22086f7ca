import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { Side } from '../sides.ts';
import type { CrewOnField } from './crew-on-field.ts';
import { goalLineOfficials, zoneOfTheCatchForScore } from './goal-lines.ts';
import { zoneOfADeadKick } from './kicks.ts';
import { sideOfficialAt, type Zone, zoneAt } from './place.ts';

/** Who has the place where the ball was dead, as far as place alone decides. Several share the middle. */
export function zoneOfTheDeadBall(play: Play, crew: CrewOnField): Zone {
  const { endSpot, endSide } = play;
  if (endSide === undefined) return 'unknown';
  return zoneOfADeadKick(play, endSide, crew) ?? zoneAt(play, endSpot, endSide, crew);
}

/**
 * Who may have ended the play by being in whose zone the ball was dead; over the goal line it is whose goal line that
 * is. One official is an answer; of several, the log has to say who it was (`endedBy`).
 */
export function whoMayHaveEnded(play: Play, crew: CrewOnField): Zone {
  if (play.endedBy !== undefined) return [play.endedBy];
  const { kind, endSpot } = play;
  if (endSpot !== undefined && endSpot >= 100 && kind === 'run') return goalLineOfficials(play, crew);
  if (endSpot !== undefined && endSpot >= 100 && kind === 'pass') {
    if (play.passResult === undefined) return 'unknown';
    if (play.passResult === 'complete') return zoneOfTheCatchForScore(play, crew);
    if (play.passResult === 'scramble') return goalLineOfficials(play, crew);
  }
  return zoneOfTheDeadBall(play, crew);
}

/**
 * Does the play end at a spot in the field of play that somebody has to give? Not after an incomplete pass, a score,
 * a touchback, or when the ball was never put in play.
 */
export function leavesASpot(play: Play): boolean | 'unknown' {
  const { kind, passResult, kickResult, score, endSpot } = play;
  if (kind === 'try' || kind === 'no snap') return false;
  if (kind === 'pass' && passResult === 'incomplete') return false;
  const kicked = kind === 'punt' || kind === 'free kick' || kind === 'place kick';
  if (kicked && (kickResult === 'touchback' || kickResult === 'good' || kickResult === 'no good'))
    return false;
  if (score !== undefined && score !== 'none') return false;
  if (endSpot !== undefined && (endSpot <= 0 || endSpot >= 100)) return false;
  const open =
    score === undefined ||
    endSpot === undefined ||
    (kind === 'pass' && passResult === undefined) ||
    (kicked && kickResult === undefined);
  return open ? 'unknown' : true;
}

/**
 * Whose spot it is, whoever whistles: the official of that side and depth; in the middle the wing whom the conference
 * names, and beyond the wings' zone the back judge. `nobody` when no spot has to be given.
 */
export function spotOwner(play: Play, crew: CrewOnField): Position | 'nobody' | 'unknown' {
  const needed = leavesASpot(play);
  if (needed === false) return 'nobody';
  const { endSide: lane } = play;
  if (needed === 'unknown' || lane === undefined) return 'unknown';
  if (lane === 'middle' && play.kind !== 'free kick') {
    const zone = zoneOfTheDeadBall(play, crew);
    if (zone !== 'unknown' && zone.length === 1 && zone[0] === 'back judge') return 'back judge';
  }
  const side = lane === 'middle' ? sideOfSpotsInTheMiddle(crew) : lane;
  const deadKick = zoneOfADeadKick(play, side, crew);
  if (deadKick !== undefined) return deadKick === 'unknown' ? 'unknown' : deadKick[0]!;
  return sideOfficialAt(play, play.endSpot, side, crew) ?? 'unknown';
}

/** The side whose official gives the spots in the middle, as the conference works it. */
export function sideOfSpotsInTheMiddle(crew: CrewOnField): Side {
  return crew.practices.spotInTheMiddle === 'head linesman' ? 'head linesman side' : 'line judge side';
}

/** Who has the sideline where the ball was dead: the official of that side and depth. Nobody in the middle. */
export function sidelineOfficial(play: Play, crew: CrewOnField): Zone {
  const { endSide } = play;
  if (endSide === undefined) return 'unknown';
  if (endSide === 'middle') return [];
  if (crew.wing[endSide] === crew.deepWing[endSide]) return [crew.wing[endSide]];
  const official = sideOfficialAt(play, play.endSpot, endSide, crew);
  return official === undefined ? 'unknown' : [official];
}

/**
 * Who comes to help where the ball was dead: the other official of that side; where one official has the whole side,
 * the umpire, and beyond the wings' zone the back judge. In the middle those at the ball.
 */
export function helpersWhereDead(play: Play, crew: CrewOnField): Zone {
  const { endSide } = play;
  if (endSide === undefined) return 'unknown';
  if (endSide === 'middle')
    return (['umpire', 'center judge'] as const).filter((position) => crew.present.has(position));
  const owner = sidelineOfficial(play, crew);
  const [wing, deep] = [crew.wing[endSide], crew.deepWing[endSide]];
  if (wing !== deep) return owner === 'unknown' ? 'unknown' : [owner[0] === wing ? deep : wing];
  const inTheMiddle = zoneAt(play, play.endSpot, 'middle', crew);
  if (inTheMiddle === 'unknown') return 'unknown';
  if (inTheMiddle.length === 1 && inTheMiddle[0] === 'back judge') return ['back judge'];
  return crew.present.has('umpire') ? ['umpire'] : [];
}
