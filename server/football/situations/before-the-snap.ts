import { isFoulNamed } from '../foul-names.ts';
import { and, isTrue } from '../three-valued.ts';
import { snap, stoppedBeforeTheSnap } from './kinds.ts';
import type { Situation } from './situation.ts';

export const hurryUp = {
  key: 'hurry-up',
  clause: 'the offense hurries without a huddle',
  reads: ['hurryUp'],
  decide: (play) => isTrue(play.hurryUp),
} as const satisfies Situation;

export const substitution = {
  key: 'offense-substituted',
  clause: 'the offense substitutes before the snap',
  reads: ['offenseSubstituted'],
  decide: (play) => isTrue(play.offenseSubstituted),
} as const satisfies Situation;

export const shift = {
  key: 'shift',
  clause: 'players of the offense shift before the snap',
  reads: ['kind', 'shift'],
  decide: (play) => and(snap.decide(play), isTrue(play.shift)),
} as const satisfies Situation;

/** A snap is for a play unless the log says otherwise, so this is never unknown: `snapFor` prevails when logged. */
export const kneelOrSpike = {
  key: 'kneel-or-spike',
  clause: 'the snap is only to kneel or to spike the ball',
  reads: ['snapFor'],
  falseUntilLogged: true,
  decide: (play) => play.snapFor === 'kneel' || play.snapFor === 'spike',
} as const satisfies Situation;

export const unabated = {
  key: 'unabated-to-the-quarterback',
  clause: 'the defense is stopped before the snap for offside or encroachment',
  reads: ['kind', 'fouls'],
  decide: (play) =>
    and(
      stoppedBeforeTheSnap.decide(play),
      play.fouls === undefined
        ? 'unknown'
        : play.fouls.some((foul) => foul.by === 'defense' && isFoulNamed(foul, 'offside', 'encroachment')),
    ),
} as const satisfies Situation;
