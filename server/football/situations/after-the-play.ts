import { and, isOneOf, isTrue, not, or } from '../three-valued.ts';
import { liveBall, runOrPass } from './kinds.ts';
import { sack } from './passes.ts';
import type { Situation } from './situation.ts';

export const looseBall = {
  key: 'loose-ball',
  clause: 'the ball is loose from a fumble, a muff or a blocked kick',
  reads: ['kind', 'looseBall'],
  decide: (play) => and(liveBall.decide(play), isOneOf(play.looseBall, 'fumble', 'muff', 'blocked kick')),
} as const satisfies Situation;

export const fumble = {
  key: 'fumble',
  clause: 'there is a fumble',
  reads: ['kind', 'looseBall'],
  decide: (play) => and(liveBall.decide(play), isOneOf(play.looseBall, 'fumble')),
} as const satisfies Situation;

export const sackFumble = {
  key: 'sack-fumble',
  clause: 'the passer is tackled and the ball comes loose',
  reads: ['kind', 'tryBy', 'passResult', 'looseBall'],
  decide: (play) => and(sack.decide(play), isOneOf(play.looseBall, 'fumble')),
} as const satisfies Situation;

export const rulingsDiffered = {
  key: 'rulings-differed',
  clause: 'two officials first rule differently',
  reads: ['rulingsDiffered'],
  decide: (play) => isTrue(play.rulingsDiffered),
} as const satisfies Situation;

export const fumbleOrDown = {
  key: 'fumble-or-down-in-question',
  clause: 'fumble or down is close',
  reads: ['kind', 'tryBy', 'kickResult', 'fumbleOrDown'],
  // Where nobody carried the ball there is nothing to be in question.
  decide: (play) =>
    and(
      or(
        runOrPass.decide(play),
        and(liveBall.decide(play), isOneOf(play.kickResult, 'returned', 'downed', 'blocked')),
      ),
      isTrue(play.fumbleOrDown),
    ),
} as const satisfies Situation;

export const pile = {
  key: 'pile',
  clause: 'players pile on the ball',
  reads: ['kind', 'pile'],
  decide: (play) => and(liveBall.decide(play), isTrue(play.pile)),
} as const satisfies Situation;

export const confrontation = {
  key: 'confrontation',
  clause: 'opponents confront each other after the ball is dead',
  reads: ['confrontation'],
  decide: (play) => isTrue(play.confrontation),
} as const satisfies Situation;

export const injury = {
  key: 'injury',
  clause: 'a player is injured',
  reads: ['injury'],
  decide: (play) => isTrue(play.injury),
} as const satisfies Situation;

export const coachDispute = {
  key: 'coach-dispute',
  clause: 'a coach disputes a ruling',
  reads: ['coachDispute'],
  decide: (play) => isTrue(play.coachDispute),
} as const satisfies Situation;

export const helmetOff = {
  key: 'helmet-off',
  clause: "a helmet comes off with no opponent's foul",
  reads: ['helmetOff', 'helmetOffByFoul'],
  decide: (play) => and(isTrue(play.helmetOff), not(isTrue(play.helmetOffByFoul))),
} as const satisfies Situation;
