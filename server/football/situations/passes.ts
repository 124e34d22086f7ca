import type { Play } from '../play.ts';
import { and, atLeast, atMost, isOneOf, isTrue, or, type Truth } from '../three-valued.ts';
import { deepPass, nearNeutralZone, quickPassNear, wingsHoldUntil } from '../yardages.ts';
import { pass, runOrPass } from './kinds.ts';
import type { Situation } from './situation.ts';

/** From a known number of yards only: is the distance to the neutral zone small? */
function isNear(yards: number | undefined): Truth {
  return yards === undefined ? 'unknown' : Math.abs(yards) <= nearNeutralZone;
}

function thrown(play: Play): Truth {
  return and(pass.decide(play), isOneOf(play.passResult, 'complete', 'incomplete', 'intercepted'));
}

export const passThrown = {
  key: 'pass-thrown',
  clause: 'a forward pass is thrown',
  reads: ['kind', 'tryBy', 'passResult'],
  decide: thrown,
} as const satisfies Situation;

export const passCaught = {
  key: 'pass-caught',
  clause: 'a forward pass is caught by either team',
  reads: ['kind', 'tryBy', 'passResult'],
  decide: (play) => and(pass.decide(play), isOneOf(play.passResult, 'complete', 'intercepted')),
} as const satisfies Situation;

export const passIncomplete = {
  key: 'pass-incomplete',
  clause: 'a forward pass falls incomplete',
  reads: ['kind', 'tryBy', 'passResult'],
  decide: (play) => and(pass.decide(play), isOneOf(play.passResult, 'incomplete')),
} as const satisfies Situation;

export const passNearNeutralZone = {
  key: 'pass-near-neutral-zone',
  clause: `a pass is caught or touched within ${nearNeutralZone} yards of the neutral zone`,
  reads: ['kind', 'tryBy', 'passResult', 'catchDepth'],
  decide: (play) => and(thrown(play), isNear(play.catchDepth)),
} as const satisfies Situation;

export const passBeyondNeutralZone = {
  key: 'pass-beyond-neutral-zone',
  clause: `a pass is caught or touched more than ${nearNeutralZone} yards beyond the neutral zone`,
  reads: ['kind', 'tryBy', 'passResult', 'catchDepth'],
  decide: (play) => and(thrown(play), atLeast(play.catchDepth, nearNeutralZone + 1)),
} as const satisfies Situation;

export const deepPassThrown = {
  key: 'deep-pass',
  clause: `a pass comes down ${deepPass} yards or more beyond the neutral zone`,
  reads: ['kind', 'tryBy', 'passResult', 'catchDepth'],
  decide: (play) => and(thrown(play), atLeast(play.catchDepth, deepPass)),
} as const satisfies Situation;

export const shortPassBeyond = {
  key: 'pass-in-front-of-wings',
  clause: `a pass comes down up to ${wingsHoldUntil.to} yards beyond the neutral zone`,
  reads: ['kind', 'tryBy', 'passResult', 'catchDepth'],
  decide: (play) =>
    and(
      thrown(play),
      play.catchDepth === undefined
        ? 'unknown'
        : play.catchDepth >= 0 && play.catchDepth <= wingsHoldUntil.to,
    ),
} as const satisfies Situation;

export const quickPass = {
  key: 'quick-pass',
  clause: 'the pass is thrown at once',
  reads: ['kind', 'tryBy', 'quickPass'],
  decide: (play) => and(pass.decide(play), isTrue(play.quickPass)),
} as const satisfies Situation;

export const quickPassNearTheLine = {
  key: 'quick-pass-near-the-line',
  clause: `a quick pass is caught or touched up to ${quickPassNear} yards beyond the neutral zone`,
  reads: ['kind', 'tryBy', 'passResult', 'quickPass', 'catchDepth'],
  decide: (play) => and(thrown(play), isTrue(play.quickPass), atMost(play.catchDepth, quickPassNear)),
} as const satisfies Situation;

export const passOrFumble = {
  key: 'pass-or-fumble-in-question',
  clause: 'the passer is hit, and the ball is incomplete, loose behind the line or held on to',
  reads: ['kind', 'tryBy', 'pressure', 'passResult', 'looseBall', 'spot', 'looseBallSpot'],
  decide: (play) =>
    and(
      pressure.decide(play),
      or(
        isOneOf(play.passResult, 'sack', 'incomplete'),
        and(
          isOneOf(play.looseBall, 'fumble'),
          play.looseBallSpot === undefined ? 'unknown' : play.looseBallSpot < play.spot,
        ),
      ),
    ),
} as const satisfies Situation;

export const backwardPass = {
  key: 'backward-pass',
  clause: 'there is a backward pass',
  reads: ['kind', 'tryBy', 'backwardPass'],
  decide: (play) => and(runOrPass.decide(play), isTrue(play.backwardPass)),
} as const satisfies Situation;

export const passerNearNeutralZone = {
  key: 'passer-near-neutral-zone',
  clause: `the passer lets go within ${nearNeutralZone} yards of the neutral zone or beyond it`,
  reads: ['kind', 'tryBy', 'passResult', 'throwDepth'],
  decide: (play) => and(thrown(play), atLeast(play.throwDepth, -nearNeutralZone)),
} as const satisfies Situation;

export const pressure = {
  key: 'pressure',
  clause: 'the passer is under pressure',
  reads: ['kind', 'tryBy', 'pressure'],
  decide: (play) => and(pass.decide(play), isTrue(play.pressure)),
} as const satisfies Situation;

export const sack = {
  key: 'sack',
  clause: 'the passer is tackled behind the line',
  reads: ['kind', 'tryBy', 'passResult'],
  decide: (play) => and(pass.decide(play), isOneOf(play.passResult, 'sack')),
} as const satisfies Situation;

export const catchInQuestion = {
  key: 'catch-in-question',
  clause: 'catch or no catch is close',
  reads: ['catchInQuestion'],
  decide: (play) => isTrue(play.catchInQuestion),
} as const satisfies Situation;

export const interception = {
  key: 'interception',
  clause: 'a pass is intercepted',
  reads: ['kind', 'tryBy', 'passResult'],
  decide: (play) => and(pass.decide(play), isOneOf(play.passResult, 'intercepted')),
} as const satisfies Situation;
