import { clockAtMost } from '../about-the-clock.ts';
import type { Play } from '../play.ts';
import { needsAdministrativePlayClock, playClockFacts } from '../play-clock.ts';
import { and, atMost, isOneOf, isTrue, not, or, type Truth } from '../three-valued.ts';
import { nearSideline } from '../yardages.ts';
import { leavesASpot as spotIsLeft } from '../zones/ending.ts';
import { placeKickRuled } from './kicks.ts';
import { liveBall, scrimmageDown, tryDown } from './kinds.ts';
import { isOffCenter } from './lanes.ts';
import type { Situation } from './situation.ts';

export const outOfBounds = {
  key: 'out-of-bounds',
  clause: 'the play ends out of bounds',
  reads: ['kind', 'tryBy', 'kickResult', 'outOfBounds'],
  decide: (play) => and(liveBall.decide(play), not(placeKickRuled.decide(play)), isTrue(play.outOfBounds)),
} as const satisfies Situation;

export const deadInBounds = {
  key: 'dead-in-bounds',
  clause: 'the ball is dead in bounds',
  reads: ['kind', 'outOfBounds'],
  decide: (play) => and(liveBall.decide(play), not(isTrue(play.outOfBounds))),
} as const satisfies Situation;

export const leavesASpot = {
  key: 'leaves-a-spot',
  clause: 'the play ends at a spot that somebody has to give',
  reads: ['kind', 'passResult', 'kickResult', 'score', 'endSpot'],
  decide: spotIsLeft,
} as const satisfies Situation;

export const ballCarried = {
  key: 'ball-carried-to-an-end',
  clause: 'a run, a caught pass, a sack or a return comes to its end',
  reads: ['kind', 'passResult', 'kickResult'],
  decide: (play) =>
    or(
      isOneOf(play.kind, 'run'),
      and(
        isOneOf(play.kind, 'pass'),
        isOneOf(play.passResult, 'complete', 'intercepted', 'sack', 'scramble'),
      ),
      and(isOneOf(play.kind, 'free kick', 'punt', 'place kick'), isOneOf(play.kickResult, 'returned')),
    ),
} as const satisfies Situation;

export const nearTheSideline = {
  key: 'near-the-sideline',
  clause: `the ball is dead in bounds within ${nearSideline} yards of a sideline`,
  reads: ['kind', 'outOfBounds', 'endSide', 'yardsFromSideline'],
  decide: (play) =>
    and(deadInBounds.decide(play), isOffCenter(play.endSide), atMost(play.yardsFromSideline, nearSideline)),
} as const satisfies Situation;

export const clockRuns = {
  key: 'clock-runs-on',
  clause: 'the game clock runs on when the ball is dead',
  reads: ['clockAfter'],
  decide: (play) => isOneOf(play.clockAfter, 'running'),
} as const satisfies Situation;

/** The game clock is off during a try and in overtime (NCAA 3-3-2 and 3-1-3, NFHS 3-1, from memory). */
function isTimed(play: Play): Truth {
  return and(liveBall.decide(play), not(tryDown.decide(play)), atMost(play.quarter, 4));
}

export const clockStops = {
  key: 'clock-stops',
  clause: 'the rules stop the game clock when the ball is dead',
  reads: ['kind', 'clockAfter', 'quarter'],
  decide: (play) => and(isOneOf(play.clockAfter, 'stopped'), isTimed(play)),
} as const satisfies Situation;

export const clockStoppedByTheEnding = {
  key: 'clock-stopped-by-the-ending',
  clause: 'the way the play ends stops the game clock: out of bounds, a first down, a change of possession',
  reads: ['kind', 'clockStoppedFor', 'quarter'],
  decide: (play) =>
    and(isOneOf(play.clockStoppedFor, 'out of bounds', 'first down', 'change of possession'), isTimed(play)),
} as const satisfies Situation;

export const ordinaryPlayClock = {
  key: 'play-clock-starts-by-itself',
  clause: 'the play clock starts at 40 seconds when the ball is dead',
  reads: playClockFacts,
  decide: (play) => and(liveBall.decide(play), not(needsAdministrativePlayClock(play))),
} as const satisfies Situation;

export const administrativePlayClock = {
  key: 'play-clock-on-the-ready',
  clause: 'the play clock is set to 25 seconds and starts on the ready',
  reads: playClockFacts,
  decide: needsAdministrativePlayClock,
} as const satisfies Situation;

export const lateInTheHalf = {
  key: 'late-in-the-half',
  clause: 'two minutes or less are left in the half',
  reads: ['quarter', 'clockSeconds', 'clockAbout'],
  decide: (play) => and(isOneOf(play.quarter, 2, 4), clockAtMost(play, 120)),
} as const satisfies Situation;

export const timeOut = {
  key: 'time-out',
  clause: 'a time-out follows',
  reads: ['timeout'],
  decide: (play) => isOneOf(play.timeout, 'team', 'official'),
} as const satisfies Situation;

/** One that is charged, and of which each team has only so many. */
export const teamTimeOut = {
  key: 'team-time-out',
  clause: 'a team takes a time-out',
  reads: ['timeout'],
  decide: (play) => isOneOf(play.timeout, 'team'),
} as const satisfies Situation;

export const nextDownFollows = {
  key: 'scrimmage-down-without-score',
  clause: 'a run or a pass play ends without a score',
  reads: ['kind', 'score'],
  decide: (play) => and(scrimmageDown.decide(play), isOneOf(play.score, 'none')),
} as const satisfies Situation;

export const tenSecondRunoff = {
  key: 'ten-second-runoff',
  clause: 'ten seconds are taken off the clock, or could be',
  reads: ['tenSecondRunoff'],
  decide: (play) => isTrue(play.tenSecondRunoff),
} as const satisfies Situation;

export const inadvertentWhistle = {
  key: 'inadvertent-whistle',
  clause: 'a whistle is blown by mistake while the ball is alive',
  reads: ['inadvertentWhistle'],
  decide: (play) => isTrue(play.inadvertentWhistle),
} as const satisfies Situation;

export const replayReview = {
  key: 'replay-review',
  clause: 'the ruling is reviewed by replay',
  reads: ['replay'],
  decide: (play) => isOneOf(play.replay, 'confirmed', 'stands', 'overturned'),
} as const satisfies Situation;
