import { and, isOneOf, isTrue, or } from '../three-valued.ts';
import { freeKick, placeKick, punt } from './kinds.ts';
import type { Situation } from './situation.ts';

export const freeKickReturned = {
  key: 'free-kick-returned',
  clause: 'a free kick is returned',
  reads: ['kind', 'kickResult'],
  decide: (play) => and(freeKick.decide(play), isOneOf(play.kickResult, 'returned')),
} as const satisfies Situation;

export const onsideKick = {
  key: 'onside-kick',
  clause: 'a free kick is kept short on purpose',
  reads: ['kind', 'onside'],
  decide: (play) => and(freeKick.decide(play), isTrue(play.onside)),
} as const satisfies Situation;

export const firstTouching = {
  key: 'first-touching',
  clause: 'the kicking team touches the kick first',
  reads: ['kind', 'firstTouching'],
  decide: (play) => and(or(freeKick.decide(play), punt.decide(play)), isTrue(play.firstTouching)),
} as const satisfies Situation;

export const puntReturned = {
  key: 'punt-returned',
  clause: 'a punt is returned',
  reads: ['kind', 'kickResult'],
  decide: (play) => and(punt.decide(play), isOneOf(play.kickResult, 'returned')),
} as const satisfies Situation;

export const kickReturned = {
  key: 'kick-returned',
  clause: 'a free kick or a punt is returned',
  reads: ['kind', 'kickResult'],
  decide: (play) => and(or(freeKick.decide(play), punt.decide(play)), isOneOf(play.kickResult, 'returned')),
} as const satisfies Situation;

export const fairCatch = {
  key: 'fair-catch',
  clause: 'a kick is fair-caught',
  reads: ['kind', 'kickResult'],
  decide: (play) => and(or(freeKick.decide(play), punt.decide(play)), isOneOf(play.kickResult, 'fair catch')),
} as const satisfies Situation;

export const kickOutOfBounds = {
  key: 'kick-out-of-bounds',
  clause: 'a free kick or a punt goes out of bounds untouched',
  reads: ['kind', 'kickResult'],
  decide: (play) =>
    and(or(freeKick.decide(play), punt.decide(play)), isOneOf(play.kickResult, 'out of bounds')),
} as const satisfies Situation;

export const kickNearGoalLine = {
  key: 'kick-at-the-goal-line',
  clause: 'a punt or a free kick is a touchback or is downed near the goal line',
  reads: ['kind', 'kickResult', 'endSpot'],
  decide: (play) =>
    and(
      or(freeKick.decide(play), punt.decide(play)),
      or(
        isOneOf(play.kickResult, 'touchback'),
        and(isOneOf(play.kickResult, 'downed'), play.endSpot === undefined ? 'unknown' : play.endSpot >= 95),
      ),
    ),
} as const satisfies Situation;

export const kickBlocked = {
  key: 'kick-blocked',
  clause: 'a kick is blocked',
  reads: ['kickResult', 'looseBall'],
  decide: (play) => or(isOneOf(play.kickResult, 'blocked'), isOneOf(play.looseBall, 'blocked kick')),
} as const satisfies Situation;

export const placeKickRuled = {
  key: 'place-kick-ruled',
  clause: 'a field-goal attempt or kick try is ruled good or no good',
  reads: ['kind', 'tryBy', 'kickResult'],
  decide: (play) => and(placeKick.decide(play), isOneOf(play.kickResult, 'good', 'no good')),
} as const satisfies Situation;
