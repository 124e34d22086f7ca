import type { Play } from '../play.ts';
import { and, isOneOf, isTrue, not, or, type Truth } from '../three-valued.ts';
import { wingsEndPlaysTo } from '../yardages.ts';
import { pass, run, runOrPass } from './kinds.ts';
import { isOffCenter } from './lanes.ts';
import { interception, passIncomplete } from './passes.ts';
import type { Situation } from './situation.ts';

export const quarterbackRuns = {
  key: 'quarterback-runs',
  clause: 'the quarterback carries the ball',
  reads: ['kind', 'tryBy', 'carrier', 'passResult'],
  decide: (play) =>
    or(
      and(run.decide(play), isOneOf(play.carrier, 'quarterback')),
      and(pass.decide(play), isOneOf(play.passResult, 'scramble')),
    ),
} as const satisfies Situation;

export const runToASide = {
  key: 'run-to-a-side',
  clause: 'a run goes to a side',
  reads: ['kind', 'tryBy', 'playSide'],
  decide: (play) => and(run.decide(play), isOffCenter(play.playSide)),
} as const satisfies Situation;

export const runUpTheMiddle = {
  key: 'run-up-the-middle',
  clause: 'a run goes up the middle',
  reads: ['kind', 'tryBy', 'playSide'],
  decide: (play) => and(run.decide(play), isOneOf(play.playSide, 'middle')),
} as const satisfies Situation;

export const drivenBack = {
  key: 'runner-driven-back',
  clause: 'the runner is driven back after forward progress',
  reads: ['drivenBack'],
  decide: (play) => isTrue(play.drivenBack),
} as const satisfies Situation;

function gain(play: Play): number | undefined {
  return play.endSpot === undefined ? undefined : play.endSpot - play.spot;
}

const isKnownGain = (play: Play, fits: (yards: number) => boolean): Truth => {
  const yards = gain(play);
  return yards === undefined ? 'unknown' : fits(yards);
};

export const longGain = {
  key: 'long-gain',
  clause: `a run or a caught pass of the offense ends more than ${wingsEndPlaysTo} yards beyond the neutral zone`,
  reads: ['kind', 'tryBy', 'passResult', 'spot', 'endSpot'],
  decide: (play) =>
    and(
      runOrPass.decide(play),
      not(passIncomplete.decide(play)),
      // Who intercepts far downfield runs back, not on.
      not(interception.decide(play)),
      isKnownGain(play, (yards) => yards > wingsEndPlaysTo),
    ),
} as const satisfies Situation;

export const deadBehindTheLine = {
  key: 'dead-behind-the-line',
  clause: 'a run or a pass play ends behind the line',
  reads: ['kind', 'tryBy', 'spot', 'endSpot'],
  decide: (play) =>
    and(
      runOrPass.decide(play),
      isKnownGain(play, (yards) => yards < 0),
    ),
} as const satisfies Situation;
