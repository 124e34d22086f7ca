import { useState } from 'preact/hooks';
import type { Play } from '../../football/play.ts';
import type { Side } from '../../football/sides.ts';
import { halfOf, leftOn, otherSide } from '../entry/left-hand.ts';

/** What left and right mean on this play: kept on the device, a half at a time. */
export function useLeftHand(reportId: string, play: Play): { left: Side; turn(): void } {
  const [, count] = useState(0);
  const key = (half: number) => `crewmark-left-${reportId}-${half}`;
  const half = halfOf(play);
  const kept = localStorage.getItem(key(half)) ?? localStorage.getItem(key(1));
  const home: Side = kept === 'line judge side' ? 'line judge side' : 'head linesman side';
  return {
    left: leftOn(play, home),
    turn: () => {
      localStorage.setItem(key(half), otherSide(home));
      count((before) => before + 1);
    },
  };
}
