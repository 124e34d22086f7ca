import { and, atLeast, atMost, isOneOf, not, or } from '../three-valued.ts';
import { goalLineZone, reverseGoalLineZone } from '../yardages.ts';
import { runOrPass, snap } from './kinds.ts';
import { isOffCenter } from './lanes.ts';
import type { Situation } from './situation.ts';

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
  clause: "the ball is dead within a yard of the defense's goal line or over it",
  reads: ['kind', 'endSpot', 'score', 'tryBy'],
  decide: (play) =>
    and(runOrPass.decide(play), or(atLeast(play.endSpot, 99), isOneOf(play.score, 'touchdown'))),
} as const satisfies Situation;

export const goalLinePlayAtTheWing = {
  key: 'goal-line-play-at-the-wing',
  clause: `the play comes at a wing from a snap at or inside the defense's ${goalLineZone}`,
  reads: ['kind', 'tryBy', 'spot', 'playSide'],
  decide: (play) => and(snapNearGoalLine.decide(play), isOffCenter(play.playSide)),
} as const satisfies Situation;

export const snapNearOwnGoalLine = {
  key: 'snap-near-own-goal-line',
  clause: `the ball is snapped between the offense's goal line and its ${reverseGoalLineZone}`,
  reads: ['kind', 'spot'],
  decide: (play) => and(snap.decide(play), atMost(play.spot, reverseGoalLineZone)),
} as const satisfies Situation;

export const safetyInQuestion = {
  key: 'safety-in-question',
  clause: "the ball is dead within a yard of the offense's own goal line or behind it",
  reads: ['kind', 'endSpot', 'score'],
  decide: (play) => and(snap.decide(play), or(atMost(play.endSpot, 1), isOneOf(play.score, 'safety'))),
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
