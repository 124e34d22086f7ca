import type { Lane } from '../sides.ts';
import { and, isOneOf, not, type Truth } from '../three-valued.ts';
import type { Situation } from './situation.ts';

/** Is this place in one of the side zones? */
export function isOffCenter(lane: Lane | undefined): Truth {
  return isOneOf(lane, 'head linesman side', 'line judge side');
}

export const playToASide = {
  key: 'play-to-a-side',
  clause: 'the play goes to a side',
  reads: ['playSide', 'kind', 'kickResult'],
  // A kick that nobody runs back goes nowhere.
  decide: (play) =>
    and(
      not(
        and(
          isOneOf(play.kind, 'free kick', 'punt', 'place kick'),
          isOneOf(play.kickResult, 'fair catch', 'touchback', 'downed', 'out of bounds', 'good', 'no good'),
        ),
      ),
      isOffCenter(play.playSide),
    ),
} as const satisfies Situation;

export const deadInSideZone = {
  key: 'dead-in-side-zone',
  clause: 'the ball is dead in a side zone or out of bounds there',
  reads: ['endSide'],
  decide: (play) => isOffCenter(play.endSide),
} as const satisfies Situation;

export const deadInTheMiddle = {
  key: 'dead-in-the-middle',
  clause: 'the ball is dead in the middle of the field',
  reads: ['endSide'],
  decide: (play) => isOneOf(play.endSide, 'middle'),
} as const satisfies Situation;

export const motionToASide = {
  key: 'motion-to-a-side',
  clause: 'a player in motion goes to a side',
  reads: ['motion'],
  decide: (play) => isOneOf(play.motion, 'head linesman side', 'line judge side'),
} as const satisfies Situation;
