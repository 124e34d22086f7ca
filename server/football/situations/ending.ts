import { needsAdministrativePlayClock } from '../play-clock.ts';
import { and, atMost, isOneOf, isTrue, not } from '../three-valued.ts';
import { liveBall, scrimmageDown } from './kinds.ts';
import type { Situation } from './situation.ts';

export const outOfBounds = {
  key: 'out-of-bounds',
  clause: 'the play ends out of bounds',
  reads: ['kind', 'outOfBounds'],
  decide: (play) => and(liveBall.decide(play), isTrue(play.outOfBounds)),
} as const satisfies Situation;

export const deadInBounds = {
  key: 'dead-in-bounds',
  clause: 'the ball is dead in bounds',
  reads: ['kind', 'outOfBounds'],
  decide: (play) => and(liveBall.decide(play), not(isTrue(play.outOfBounds))),
} as const satisfies Situation;

export const clockRuns = {
  key: 'clock-runs-on',
  clause: 'the game clock runs on when the ball is dead',
  reads: ['clockAfter'],
  decide: (play) => isOneOf(play.clockAfter, 'running'),
} as const satisfies Situation;

export const clockStops = {
  key: 'clock-stops',
  clause: 'the rules stop the game clock when the ball is dead',
  reads: ['kind', 'clockAfter'],
  decide: (play) => and(liveBall.decide(play), isOneOf(play.clockAfter, 'stopped')),
} as const satisfies Situation;

export const ordinaryPlayClock = {
  key: 'play-clock-starts-by-itself',
  clause: 'the play clock starts at 40 seconds when the ball is dead',
  reads: ['kind', 'score', 'turnover', 'timeout', 'measured', 'fouls', 'helmetOff', 'helmetOffByFoul'],
  decide: (play) => and(liveBall.decide(play), not(needsAdministrativePlayClock(play))),
} as const satisfies Situation;

export const administrativePlayClock = {
  key: 'play-clock-on-the-ready',
  clause: 'the play clock is set to 25 seconds and starts on the ready',
  reads: ['kind', 'score', 'turnover', 'timeout', 'measured', 'fouls', 'helmetOff', 'helmetOffByFoul'],
  decide: needsAdministrativePlayClock,
} as const satisfies Situation;

export const lateInTheHalf = {
  key: 'late-in-the-half',
  clause: 'two minutes or less are left in the half',
  reads: ['quarter', 'clockSeconds'],
  decide: (play) => and(isOneOf(play.quarter, 2, 4), atMost(play.clockSeconds, 120)),
} as const satisfies Situation;

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

export const timeOut = {
  key: 'time-out',
  clause: 'a time-out follows',
  reads: ['timeout'],
  decide: (play) => isOneOf(play.timeout, 'team', 'official'),
} as const satisfies Situation;

export const nextDownFollows = {
  key: 'scrimmage-down-without-score',
  clause: 'a run or a pass play ends without a score',
  reads: ['kind', 'score'],
  decide: (play) => and(scrimmageDown.decide(play), isOneOf(play.score, 'none')),
} as const satisfies Situation;
