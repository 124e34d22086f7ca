import { sideOf, whoCovers } from '../crews.ts';
import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { Lane } from '../sides.ts';
import type { CrewOnField } from './crew-on-field.ts';
import { standing } from './free-kicks.ts';
import { goalLineOfficials } from './goal-lines.ts';
import { wingsZoneEnds, type Zone } from './place.ts';

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

/**
 * Who goes deep on a punt in a crew that has neither back judge nor deep wings: the line judge, as on free kicks; the
 * head linesman holds the line.
 */
const deepOnPuntsInFours = (crew: CrewOnField): readonly Position[] => [crew.wing['line judge side']];

const hasNobodyDeep = (crew: CrewOnField) => !crew.hasDeepWings && !crew.present.has('back judge');

/** The two under the uprights on a place kick, by who is there. */
export function underTheUprights(crew: CrewOnField): readonly Position[] {
  const has = (position: Position) => crew.present.has(position);
  if (has('field judge')) return ['field judge', has('back judge') ? 'back judge' : 'side judge'];
  return has('back judge') ? ['line judge', 'back judge'] : ['head linesman', 'line judge'];
}

interface AtTheLine {
  readonly wings: readonly Position[];
  readonly onAPunt: readonly Position[];
  readonly onAPlaceKick: readonly Position[];
}

/** Worked out once for each crew: it is asked at every snap. */
const atTheLine = new WeakMap<CrewOnField, AtTheLine>();

function whoIsAtTheLine(crew: CrewOnField): AtTheLine {
  const wings = [...new Set([crew.wing['head linesman side'], crew.wing['line judge side']])];
  const without = (gone: readonly Position[]) => {
    const left = wings.filter((wing) => !gone.includes(wing));
    return left.length > 0 ? left : whoCovers('umpire', crew.present);
  };
  const found = {
    wings,
    onAPunt: hasNobodyDeep(crew) ? without(deepOnPuntsInFours(crew)) : wings,
    // Deep wings go under the uprights in the wings' stead.
    onAPlaceKick: crew.hasDeepWings ? wings : without(underTheUprights(crew)),
  };
  atTheLine.set(crew, found);
  return found;
}

/**
 * Who is at the line of scrimmage at the snap: the wings, but for the one who is deep on a punt in a crew with nobody
 * else there, and for those under the uprights on a place kick; when both wings are there, the umpire.
 */
export function atTheLineOnTheSnap({ kind, tryBy }: Play, crew: CrewOnField): Zone {
  const { wings, onAPunt, onAPlaceKick } = atTheLine.get(crew) ?? whoIsAtTheLine(crew);
  if (kind === 'punt') return onAPunt;
  if (kind === 'place kick' || (kind === 'try' && tryBy === 'kick')) return onAPlaceKick;
  return kind === 'try' && tryBy === undefined && onAPlaceKick !== wings ? 'unknown' : wings;
}

/** A punt that is dead where it was caught or downed. */
const deadWhereItFell: readonly Play['kickResult'][] = ['fair catch', 'downed', 'touchback'];

/**
 * Who has a kick that is dead where it was caught or downed, where it is not simply the official of that side: a free
 * kick fair-caught is of who is deep there, and a punt of the only official who is deep. Undefined for all others.
 */
export function zoneOfADeadKick(
  { kind, spot, endSpot, kickResult }: Play,
  lane: Lane,
  crew: CrewOnField,
): Zone | undefined {
  if (kind === 'free kick') {
    if (kickResult === undefined) return 'unknown';
    // Crews without deep wings send only one wing deep; the other comes back to that side.
    return kickResult === 'fair catch' && (lane === 'middle' || crew.hasDeepWings)
      ? deepOn(lane, crew)
      : undefined;
  }
  if (kind !== 'punt' || crew.hasDeepWings || !crew.present.has('back judge')) return undefined;
  if (endSpot !== undefined && endSpot - spot <= wingsZoneEnds.carried) return undefined;
  if (kickResult === undefined || endSpot === undefined) return 'unknown';
  return deadWhereItFell.includes(kickResult) ? ['back judge'] : undefined;
}

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

/**
 * Who sees whether the one who waits for a kick has room: on a punt the back judge and the deep wing of the kick's side,
 * on a free kick the deep official there.
 */
export function whoSeesTheRoom(play: Play, crew: CrewOnField): Zone {
  if (play.kind === 'free kick') return goalLineOnAKick(play, crew);
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

/** Who marks where a kick was touched or ended: on a short free kick the one at the receiving line on that side, else who is deep. */
export function zoneOfTheKick(play: Play, crew: CrewOnField): Zone {
  if (play.kind !== 'free kick') return goalLineOnAKick(play, crew);
  if (play.onside === undefined) return 'unknown';
  if (!play.onside) return goalLineOnAKick(play, crew);
  const lane = kickLane(play);
  if (lane === undefined) return 'unknown';
  const line = standing("at the receiving team's line", crew);
  if (lane === 'middle') return line.length > 0 ? line : [crew.behindMiddle];
  const onThatSide = line.filter((position) => sideOf(position) === lane);
  // In a crew of five the umpire has that line across from the head linesman.
  const there =
    onThatSide.length > 0 ? onThatSide : line.filter((position) => sideOf(position) === undefined);
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
