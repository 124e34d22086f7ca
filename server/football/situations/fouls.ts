import { type FoulName, isFoulNamed } from '../foul-names.ts';
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

/** A flag that was thrown and not picked up again; one whose outcome nobody logged counts as a foul. */
export const foulStands = {
  key: 'foul-stands',
  clause: 'a foul is called and the flag is not picked up',
  reads: ['fouls'],
  decide: (play) => anyFoul(play, (foul) => foul.outcome !== 'picked up'),
} as const satisfies Situation;

export const flagPickedUp = {
  key: 'flag-picked-up',
  clause: 'a flag is picked up',
  reads: ['fouls'],
  decide: (play) => anyFoul(play, (foul) => foul.outcome === 'picked up'),
} as const satisfies Situation;

/** Was a foul of one of these names called? A flag picked up is no foul, but somebody did call it. */
const called = (play: Play, ...names: readonly FoulName[]): Truth =>
  anyFoul(play, (foul) => isFoulNamed(foul, ...names));

export const targetingCalled = {
  key: 'targeting-called',
  clause: 'targeting is called',
  reads: ['fouls'],
  decide: (play) => called(play, 'targeting'),
} as const satisfies Situation;

export const unsportsmanlikeCalled = {
  key: 'unsportsmanlike-called',
  clause: 'unsportsmanlike conduct is called',
  reads: ['fouls'],
  decide: (play) => called(play, 'unsportsmanlike conduct'),
} as const satisfies Situation;

export const sidelineFoulCalled = {
  key: 'sideline-foul-called',
  clause: 'a sideline is warned or penalized',
  reads: ['fouls'],
  decide: (play) => called(play, 'sideline interference'),
} as const satisfies Situation;

export const severalFouls = {
  key: 'several-fouls',
  clause: 'more than one foul is called',
  reads: ['fouls'],
  decide: (play) => atLeast(play.fouls?.filter(({ outcome }) => outcome !== 'picked up').length, 2),
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
