import type { Play } from '../play.ts';
import { and, atMost, isOneOf, isTrue, not, or, type Truth } from '../three-valued.ts';
import { lineToGainMargin } from '../yardages.ts';
import { scrimmageDown } from './kinds.ts';
import type { Situation } from './situation.ts';

/** Yards past (positive) or short of (negative) the line to gain; undefined when a fact is missing. */
function pastLineToGain(play: Play): number | undefined {
  if (play.distance === undefined || play.endSpot === undefined) return undefined;
  return play.endSpot - (play.spot + play.distance);
}

export const goalToGo = {
  key: 'goal-to-go',
  clause: 'it is goal to go',
  reads: ['kind', 'spot', 'distance'],
  decide: (play): Truth =>
    and(
      scrimmageDown.decide(play),
      play.distance === undefined ? 'unknown' : play.spot + play.distance >= 100,
    ),
} as const satisfies Situation;

export const lineToGainInQuestion = {
  key: 'line-to-gain-in-question',
  clause: 'the spot is so near the line to gain that somebody has to decide',
  reads: ['kind', 'spot', 'distance', 'lineToGainInQuestion', 'endSpot', 'passResult', 'score'],
  // What the observer logged prevails over what the yard lines suggest. On goal to go there is no such line.
  decide: (play): Truth => {
    const there = and(scrimmageDown.decide(play), not(goalToGo.decide(play)));
    if (play.lineToGainInQuestion !== undefined) return and(there, play.lineToGainInQuestion);
    const past = pastLineToGain(play);
    return and(
      there,
      not(and(isOneOf(play.kind, 'pass'), isOneOf(play.passResult, 'incomplete', 'intercepted'))),
      not(isOneOf(play.score, 'touchdown')),
      atMost(past === undefined ? undefined : Math.abs(past), lineToGainMargin),
    );
  },
} as const satisfies Situation;

export const firstDown = {
  key: 'first-down',
  clause: 'the line to gain is reached',
  reads: ['kind', 'passResult', 'spot', 'distance', 'endSpot'],
  decide: (play): Truth => {
    const past = pastLineToGain(play);
    return and(
      scrimmageDown.decide(play),
      not(and(isOneOf(play.kind, 'pass'), isOneOf(play.passResult, 'incomplete', 'intercepted'))),
      past === undefined ? 'unknown' : past >= 0,
    );
  },
} as const satisfies Situation;

export const measured = {
  key: 'measured',
  clause: 'the distance is measured',
  reads: ['kind', 'measured'],
  decide: (play) => and(not(isOneOf(play.kind, 'free kick', 'try')), isTrue(play.measured)),
} as const satisfies Situation;

export const fourthDown = {
  key: 'fourth-down',
  clause: 'it is fourth down',
  reads: ['down'],
  decide: (play) => isOneOf(play.down, 4),
} as const satisfies Situation;

export const thirdOrFourthDown = {
  key: 'third-or-fourth-down',
  clause: 'it is third or fourth down',
  reads: ['down'],
  decide: (play) => isOneOf(play.down, 3, 4),
} as const satisfies Situation;

export const possessionChanges = {
  key: 'possession-changes',
  clause: 'possession changes in the down or on downs',
  reads: ['turnover', 'kind', 'kickResult'],
  decide: (play) =>
    or(
      isOneOf(play.turnover, 'interception', 'fumble', 'downs'),
      and(
        isOneOf(play.kind, 'punt'),
        isOneOf(play.kickResult, 'returned', 'fair catch', 'touchback', 'downed', 'out of bounds'),
      ),
    ),
} as const satisfies Situation;
