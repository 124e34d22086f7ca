import type { Foul } from '../fouls.ts';
import type { Play } from '../play.ts';
import { and, atLeast, isOneOf, or, type Truth } from '../three-valued.ts';
import type { Situation } from './situation.ts';

/** Is there a foul that fits? False when it is known that none was called. */
function anyFoul(play: Play, fits: (foul: Foul) => Truth): Truth {
  return play.fouls === undefined ? 'unknown' : or(...play.fouls.map(fits));
}

export const foulCalled = {
  key: 'foul-called',
  clause: 'a foul is called',
  reads: ['fouls'],
  decide: (play) => atLeast(play.fouls?.length, 1),
} as const satisfies Situation;

export const severalFouls = {
  key: 'several-fouls',
  clause: 'more than one foul is called',
  reads: ['fouls'],
  decide: (play) => atLeast(play.fouls?.length, 2),
} as const satisfies Situation;

export const foulsOffset = {
  key: 'fouls-offset',
  clause: 'fouls offset',
  reads: ['fouls'],
  decide: (play) =>
    and(
      severalFouls.decide(play),
      anyFoul(play, (foul) => isOneOf(foul.outcome, 'offsetting')),
    ),
} as const satisfies Situation;

export const penaltyDeclined = {
  key: 'penalty-declined',
  clause: 'a penalty is declined',
  reads: ['fouls'],
  decide: (play) => anyFoul(play, (foul) => isOneOf(foul.outcome, 'declined')),
} as const satisfies Situation;

export const penaltyEnforced = {
  key: 'penalty-enforced',
  clause: 'a penalty is enforced',
  reads: ['fouls'],
  decide: (play) => anyFoul(play, (foul) => isOneOf(foul.outcome, 'accepted')),
} as const satisfies Situation;
