import type { Play } from '../play.ts';
import { and, atMost, isOneOf, isTrue, not, or, type Truth } from '../three-valued.ts';
import { shortKick } from '../yardages.ts';
import { freeKick, pass, placeKick, punt } from './kinds.ts';
import type { Situation } from './situation.ts';

function freeKickOrPunt(play: Play): Truth {
  return or(freeKick.decide(play), punt.decide(play));
}

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

/** The clock starts when a free kick is touched in the field of play, and a fair catch takes none (NCAA 3-3-2, NFHS 3-4-1, from memory). */
export const clockNeverStarted = {
  key: 'clock-never-started',
  clause:
    'a free kick is a touchback, goes out of bounds or is fair-caught, so that the game clock does not start',
  reads: ['kind', 'kickResult'],
  decide: (play) =>
    and(freeKick.decide(play), isOneOf(play.kickResult, 'touchback', 'out of bounds', 'fair catch')),
} as const satisfies Situation;

export const firstTouching = {
  key: 'first-touching',
  clause: 'the kicking team touches the kick first',
  reads: ['kind', 'firstTouching'],
  decide: (play) => and(freeKickOrPunt(play), isTrue(play.firstTouching)),
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
  decide: (play) => and(freeKickOrPunt(play), isOneOf(play.kickResult, 'returned')),
} as const satisfies Situation;

export const fairCatch = {
  key: 'fair-catch',
  clause: 'a kick is fair-caught',
  reads: ['kind', 'kickResult'],
  decide: (play) => and(freeKickOrPunt(play), isOneOf(play.kickResult, 'fair catch')),
} as const satisfies Situation;

export const kickOutOfBounds = {
  key: 'kick-out-of-bounds',
  clause: 'a free kick or a punt goes out of bounds untouched',
  reads: ['kind', 'kickResult'],
  decide: (play) => and(freeKickOrPunt(play), isOneOf(play.kickResult, 'out of bounds')),
} as const satisfies Situation;

export const kickNearGoalLine = {
  key: 'kick-at-the-goal-line',
  clause: 'a punt or a free kick is a touchback or is downed near the goal line',
  reads: ['kind', 'kickResult', 'endSpot'],
  decide: (play) =>
    and(
      freeKickOrPunt(play),
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

export const fairCatchSignal = {
  key: 'fair-catch-signal',
  clause: 'a player of the receiving team signals for a fair catch',
  reads: ['kind', 'fairCatchSignal'],
  decide: (play) => and(freeKickOrPunt(play), isTrue(play.fairCatchSignal)),
} as const satisfies Situation;

export const kickReturnedOrDowned = {
  key: 'kick-returned-or-downed',
  clause: 'a free kick or a punt is caught and returned, or downed',
  reads: ['kind', 'kickResult'],
  decide: (play) => and(freeKickOrPunt(play), isOneOf(play.kickResult, 'returned', 'downed')),
} as const satisfies Situation;

/** Only who catches a kick or the other team's pass, or recovers a loose ball, brings momentum of their own. */
function ballComesToTheOtherTeam(play: Play): Truth {
  return or(
    freeKickOrPunt(play),
    and(isOneOf(play.kind, 'place kick'), not(isOneOf(play.kickResult, 'good', 'no good'))),
    and(pass.decide(play), isOneOf(play.passResult, 'intercepted')),
    isOneOf(play.looseBall, 'fumble', 'muff', 'blocked kick'),
  );
}

export const momentum = {
  key: 'momentum',
  clause: 'momentum carries a player with the ball into the own end zone',
  reads: ['kind', 'tryBy', 'passResult', 'kickResult', 'looseBall', 'momentum'],
  decide: (play) => and(ballComesToTheOtherTeam(play), isTrue(play.momentum)),
} as const satisfies Situation;

export const kickTouching = {
  key: 'kick-touching',
  clause: 'a free kick is kept short, or a player touches a free kick or a punt',
  reads: ['kind', 'onside', 'kickTouchedBy'],
  decide: (play) =>
    or(
      onsideKick.decide(play),
      and(freeKickOrPunt(play), isOneOf(play.kickTouchedBy, 'kicking team', 'receiving team', 'both')),
    ),
} as const satisfies Situation;

export const kickAtTheNeutralZone = {
  key: 'kick-at-the-neutral-zone',
  clause: 'a punt or a place kick is blocked, does not cross the neutral zone, or comes down near it',
  reads: ['kind', 'tryBy', 'kickResult', 'looseBall', 'kickCrossed', 'spot', 'kickTo'],
  decide: (play) =>
    and(
      or(punt.decide(play), placeKick.decide(play)),
      not(isOneOf(play.kickResult, 'good')),
      or(
        kickBlocked.decide(play),
        // Ruled from under the uprights, it has crossed.
        and(
          not(isOneOf(play.kickResult, 'no good')),
          or(
            not(isTrue(play.kickCrossed)),
            atMost(play.kickTo === undefined ? undefined : play.kickTo - play.spot, shortKick),
          ),
        ),
      ),
    ),
} as const satisfies Situation;
