import type { Play } from '../play.ts';
import { and, atLeast, atMost, isOneOf, not, or, type Truth } from '../three-valued.ts';
import { goalLineZone, reverseGoalLineZone } from '../yardages.ts';
import { liveBall, pass, run, runOrPass, snap } from './kinds.ts';
import { isOffCenter } from './lanes.ts';
import { passCaught } from './passes.ts';
import type { Situation } from './situation.ts';

/** A run, or a pass play on which the offense ends up carrying the ball. */
function carriedByTheOffense(play: Play): Truth {
  return or(
    run.decide(play),
    and(pass.decide(play), isOneOf(play.passResult, 'complete', 'sack', 'scramble')),
  );
}

export const snapNearGoalLine = {
  key: 'snap-near-goal-line',
  clause: `the ball is snapped at or inside the defense's ${goalLineZone} for a run or a pass play`,
  reads: ['kind', 'tryBy', 'spot'],
  decide: (play) => and(runOrPass.decide(play), atLeast(play.spot, 100 - goalLineZone)),
} as const satisfies Situation;

export const deadShortOfGoalLine = {
  key: 'dead-short-of-goal-line',
  clause: 'the ball is dead in the field of play, short of the goal line',
  reads: ['endSpot', 'score'],
  decide: (play) => and(atMost(play.endSpot, 99), isOneOf(play.score, 'none')),
} as const satisfies Situation;

export const goalLineInQuestion = {
  key: 'goal-line-in-question',
  clause: "a touchdown is ruled, or a run or a caught pass is dead within a yard of the defense's goal line",
  reads: ['kind', 'score', 'tryBy', 'passResult', 'endSpot'],
  decide: (play) =>
    or(
      and(liveBall.decide(play), touchdown.decide(play)),
      and(carriedByTheOffense(play), atLeast(play.endSpot, 99)),
    ),
} as const satisfies Situation;

export const goalLinePlayAtTheWing = {
  key: 'goal-line-play-at-the-wing',
  clause: `a run or a short pass comes at a wing from a snap at or inside the defense's ${goalLineZone}`,
  reads: ['kind', 'tryBy', 'spot', 'playSide', 'passResult', 'catchDepth'],
  decide: (play) =>
    and(
      snapNearGoalLine.decide(play),
      isOffCenter(play.playSide),
      or(
        run.decide(play),
        isOneOf(play.passResult, 'scramble'),
        and(passCaught.decide(play), atMost(play.catchDepth, goalLineZone)),
      ),
    ),
} as const satisfies Situation;

export const snapNearOwnGoalLine = {
  key: 'snap-near-own-goal-line',
  clause: `the ball is snapped between the offense's goal line and its ${reverseGoalLineZone}`,
  reads: ['kind', 'spot'],
  decide: (play) => and(snap.decide(play), atMost(play.spot, reverseGoalLineZone)),
} as const satisfies Situation;

export const safetyInQuestion = {
  key: 'safety-in-question',
  clause:
    'the offense has the ball, or its blocked punt, within a yard of its own goal line or behind it when the ball is dead',
  reads: ['kind', 'score', 'passResult', 'kickResult', 'endSpot'],
  // Not on a return by the other team, whose touchdown it would be, and not when nobody has the ball.
  decide: (play) =>
    and(
      or(
        isOneOf(play.kind, 'run'),
        and(isOneOf(play.kind, 'pass'), isOneOf(play.passResult, 'complete', 'sack', 'scramble')),
        and(isOneOf(play.kind, 'punt'), isOneOf(play.kickResult, 'blocked')),
      ),
      not(isOneOf(play.score, 'touchdown')),
      or(isOneOf(play.score, 'safety'), atMost(play.endSpot, 1)),
    ),
} as const satisfies Situation;

export const scored = {
  key: 'scored',
  clause: 'a team scores',
  reads: ['score'],
  decide: (play) => not(isOneOf(play.score, 'none')),
} as const satisfies Situation;

export const touchdown = {
  key: 'touchdown',
  clause: 'a touchdown is ruled',
  reads: ['score'],
  decide: (play) => isOneOf(play.score, 'touchdown'),
} as const satisfies Situation;
