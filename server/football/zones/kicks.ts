import { sideOf } from '../crews.ts';
import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { Lane } from '../sides.ts';
import type { CrewOnField } from './crew-on-field.ts';
import { standing } from './free-kicks.ts';
import { goalLineOfficials } from './goal-lines.ts';
import type { Zone } from './place.ts';

/** The side a kick came down on; where that was not logged, the side on which the ball was dead. */
function kickLane(play: Play): Lane | undefined {
  return play.kickSide ?? play.endSide;
}

/** Those deep on one side of a free kick; where nobody stands there, the referee. */
function deepOn(lane: Lane, crew: CrewOnField): readonly Position[] {
  if (lane === 'middle') return [crew.behindMiddle];
  const there = standing('deep', crew).filter((position) => sideOf(position) === lane);
  return there.length > 0 ? there : [crew.behindMiddle];
}

/** Who goes deep on a punt in a crew that has neither back judge nor deep wings: the wing who lets go of the line. */
const deepOnPuntsInFours = (crew: CrewOnField): readonly Position[] => [crew.wing['head linesman side']];

/**
 * Who has the receiving team's goal line on a kick. Free kicks: the deep official of that side, the referee in the
 * middle. Punts: the deep officials, by side. On other plays whoever has the defense's goal line.
 */
export function goalLineOnAKick(play: Play, crew: CrewOnField): Zone {
  if (play.kind === 'run' || play.kind === 'pass') return goalLineOfficials(play, crew);
  const lane = kickLane(play);
  if (play.kind === 'free kick') return lane === undefined ? 'unknown' : deepOn(lane, crew);
  if (!crew.hasDeepWings) return crew.present.has('back judge') ? ['back judge'] : deepOnPuntsInFours(crew);
  if (lane === undefined) return 'unknown';
  return lane === 'middle' ? crew.deepMiddle : [crew.deepWing[lane]];
}

/** Who has the player who waits for the kick: on a punt the back judge, on a free kick the deep official of that side. */
export function whoHasTheReturner(play: Play, crew: CrewOnField): Zone {
  if (play.kind !== 'free kick' && crew.present.has('back judge')) return ['back judge'];
  return goalLineOnAKick(play, crew);
}

/** Who sees whether the one who waits for a punt has room: the back judge and the deep wing of the kick's side. */
export function whoSeesTheRoom(play: Play, crew: CrewOnField): Zone {
  const lane = kickLane(play);
  const deep = crew.hasDeepWings
    ? lane === undefined
      ? 'unknown'
      : lane === 'middle'
        ? Object.values(crew.deepWing)
        : [crew.deepWing[lane]]
    : [];
  if (deep === 'unknown') return 'unknown';
  const backJudge: Position[] = crew.present.has('back judge') ? ['back judge'] : [];
  const there = [...new Set([...backJudge, ...deep])];
  return there.length > 0 ? there : deepOnPuntsInFours(crew);
}

/** Who marks where a kick was first touched: deep on a punt; on a free kick the one at the receiving line on that side. */
export function zoneOfTheKick(play: Play, crew: CrewOnField): Zone {
  if (play.kind !== 'free kick') return goalLineOnAKick(play, crew);
  const lane = kickLane(play);
  if (lane === undefined) return 'unknown';
  const line = standing("at the receiving team's line", crew);
  if (lane === 'middle') return line.length > 0 ? line : [crew.behindMiddle];
  const there = line.filter((position) => sideOf(position) === lane);
  return there.length > 0 ? there : deepOn(lane, crew);
}

/** Who rules on who touched a kick: on a short free kick those at the receiving team's line, else who is deep. */
export function whoSeesTheTouching(play: Play, crew: CrewOnField): Zone {
  if (play.kind !== 'free kick') return goalLineOnAKick(play, crew);
  if (play.onside === undefined) return 'unknown';
  if (!play.onside) return goalLineOnAKick(play, crew);
  const line = standing("at the receiving team's line", crew);
  return line.length > 0 ? line : [crew.behindMiddle];
}

/** Who is deep on the side to which a free kick is returned. Nobody on a return up the middle. */
export function deepOnTheReturnSide(play: Play, crew: CrewOnField): Zone {
  if (play.playSide === undefined) return 'unknown';
  return standing('deep', crew).filter((position) => sideOf(position) === play.playSide);
}
