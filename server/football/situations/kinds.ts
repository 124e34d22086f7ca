import { isOneOf, or } from '../three-valued.ts';
import type { Situation } from './situation.ts';

export const liveBall = {
  key: 'live-ball',
  clause: 'the ball is put in play',
  reads: ['kind'],
  decide: (play) => isOneOf(play.kind, 'run', 'pass', 'punt', 'free kick', 'place kick', 'try'),
} as const satisfies Situation;

export const snap = {
  key: 'snap',
  clause: 'the ball is snapped',
  reads: ['kind'],
  decide: (play) => isOneOf(play.kind, 'run', 'pass', 'punt', 'place kick', 'try'),
} as const satisfies Situation;

export const stoppedBeforeTheSnap = {
  key: 'stopped-before-the-snap',
  clause: 'the whistle comes before the ball is in play',
  reads: ['kind'],
  decide: (play) => isOneOf(play.kind, 'no snap'),
} as const satisfies Situation;

export const run = {
  key: 'run',
  clause: 'it is a run',
  reads: ['kind', 'tryBy'],
  decide: (play) => (play.kind === 'try' ? isOneOf(play.tryBy, 'run') : isOneOf(play.kind, 'run')),
} as const satisfies Situation;

export const pass = {
  key: 'pass',
  clause: 'it is a pass play',
  reads: ['kind', 'tryBy'],
  decide: (play) => (play.kind === 'try' ? isOneOf(play.tryBy, 'pass') : isOneOf(play.kind, 'pass')),
} as const satisfies Situation;

export const runOrPass = {
  key: 'run-or-pass',
  clause: 'it is a run or a pass play',
  reads: ['kind', 'tryBy'],
  decide: (play) => or(run.decide(play), pass.decide(play)),
} as const satisfies Situation;

export const scrimmageDown = {
  key: 'scrimmage-down',
  clause: 'it is a run or a pass play that is not a try',
  reads: ['kind'],
  decide: (play) => isOneOf(play.kind, 'run', 'pass'),
} as const satisfies Situation;

export const freeKick = {
  key: 'free-kick',
  clause: 'it is a free kick',
  reads: ['kind'],
  decide: (play) => isOneOf(play.kind, 'free kick'),
} as const satisfies Situation;

export const punt = {
  key: 'punt',
  clause: 'it is a punt',
  reads: ['kind'],
  decide: (play) => isOneOf(play.kind, 'punt'),
} as const satisfies Situation;

export const placeKick = {
  key: 'place-kick',
  clause: 'it is a field-goal attempt or a kick try',
  reads: ['kind', 'tryBy'],
  decide: (play) => (play.kind === 'try' ? isOneOf(play.tryBy, 'kick') : isOneOf(play.kind, 'place kick')),
} as const satisfies Situation;

export const tryDown = {
  key: 'try',
  clause: 'it is a try',
  reads: ['kind'],
  decide: (play) => isOneOf(play.kind, 'try'),
} as const satisfies Situation;
