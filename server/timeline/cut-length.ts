import { type Cut, type Shot, secondsOfTicks } from './cut.ts';

/** Seconds that a shot runs: slow, and with its freezes. */
export const secondsOfShot = ({ from, to, timebase, slow, freezes }: Shot): number =>
  secondsOfTicks(to - from, timebase) * slow + freezes.reduce((sum, { seconds }) => sum + seconds, 0);

/** Seconds that a play's film runs as it is cut, without the stop for its question. */
export const secondsOfCut = ({ shots }: Pick<Cut, 'shots'>): number =>
  shots.reduce((sum, shot) => sum + secondsOfShot(shot), 0);
