import type { Code } from '../codes.ts';
import type { Play } from '../play.ts';
import type { Position } from '../positions.ts';
import type { CrewOnField } from '../zones/crew-on-field.ts';
import { whoMayHaveEnded } from '../zones/ending.ts';
import { zoneInTheEndZone } from '../zones/goal-lines.ts';
import { zoneOfADeadKick } from '../zones/kicks.ts';
import { wingsHaveReturnsTo, wingsZoneEnds, zoneAt, zoneOf } from '../zones/place.ts';
import { type BallMark, laneAcross } from './ball-marks.ts';
import { alongOf, fieldLength } from './field-measures.ts';

/** The part of the field that the ball's last place lies in, and whose it is. Yards of the field. */
export interface ZoneOfTheEnd {
  readonly x: { readonly from: number; readonly to: number };
  readonly y: { readonly from: number; readonly to: number };
  readonly officials: readonly Position[];
}

/** The zone around where the ball ended, or where an incomplete pass came down; undefined while nobody logged where. */
export function zoneOfTheEnd(
  play: Play,
  last: BallMark | undefined,
  crew: CrewOnField,
  code: Code,
): ZoneOfTheEnd | undefined {
  if (last === undefined || last.lane === undefined) return undefined;
  const thrown = last.kind === 'fell incomplete';
  if (last.kind !== 'dead' && !thrown) return undefined;
  const { lane } = last;
  if ((play.endSpot ?? 0) >= 100 && (play.kind === 'run' || play.kind === 'pass') && !thrown) {
    // Over the goal line it is not the place alone that decides, but whose goal line it is.
    const whose = whoMayHaveEnded({ ...play, endedBy: undefined }, crew);
    if (whose === 'unknown') return undefined;
    return { x: laneAcross(lane, code), y: { from: alongOf(100), to: fieldLength }, officials: whose };
  }
  if (thrown && last.yards >= 100) {
    const officials = zoneInTheEndZone(lane, play.spot, crew);
    return { x: laneAcross(lane, code), y: { from: alongOf(100), to: fieldLength }, officials };
  }
  const ownerAt = (yards: number) =>
    thrown ? zoneOf({ depth: yards - play.spot, lane }, 'thrown', crew) : zoneAt(play, yards, lane, crew);
  const deadKick = zoneOfADeadKick(play, lane, crew);
  const officials = deadKick ?? ownerAt(last.yards);
  if (officials === 'unknown') return undefined;
  const zoneEnds = wingsZoneEnds[thrown ? 'thrown' : 'carried'];
  // Zones change hands at whole yards: between the last yard of one and the first of the next.
  const borders =
    play.kind === 'free kick'
      ? [100 - wingsHaveReturnsTo - 0.5]
      : [play.spot - 0.5, play.spot + zoneEnds + 0.5];
  const bands = [-10, ...borders, 110]
    .map((from, at, all) => ({ from, to: all[at + 1] ?? from }))
    .filter(({ from, to }) => to > from);
  const same = ({ from, to }: (typeof bands)[number]) =>
    String(ownerAt(Math.round((from + to) / 2))) === String(officials);
  let first = bands.findIndex(({ from, to }) => last.yards >= from && last.yards <= to);
  let final = first;
  while (deadKick === undefined && first > 0 && same(bands[first - 1]!)) first -= 1;
  while (deadKick === undefined && final < bands.length - 1 && same(bands[final + 1]!)) final += 1;
  return {
    x: laneAcross(lane, code),
    y: {
      from: Math.max(0, alongOf(bands[first]!.from)),
      to: Math.min(fieldLength, alongOf(bands[final]!.to)),
    },
    officials,
  };
}
