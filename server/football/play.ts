import * as z from 'zod/mini'; // runs in browsers too, at a third of the size

import { foulSchema } from './fouls.ts';
import { positions } from './positions.ts';
import { lanes } from './sides.ts';

/** `no snap`: the whistle came before the ball was put in play (false start, delay, encroachment). */
export const playKinds = ['run', 'pass', 'punt', 'free kick', 'place kick', 'try', 'no snap'] as const;
export type PlayKind = (typeof playKinds)[number];

export const clockStops = [
  'none',
  'incomplete pass',
  'out of bounds',
  'first down',
  'score',
  'change of possession',
  'foul',
  'team time-out',
  'official time-out',
  'injury',
  'helmet off',
  'measurement',
  'review',
  'end of period',
] as const;
export type ClockStop = (typeof clockStops)[number];

const yardLine = (what: string) =>
  z
    .int(`${what} must be a whole yard`)
    .check(z.minimum(0, `${what} must be 0 to 100`), z.maximum(100, `${what} must be 0 to 100`));
const whole = (least: number, most: number) => z.int().check(z.minimum(least), z.maximum(most));

/**
 * One down or kick as logged. Only `kind` and `spot` are required; a fact left out is unknown, and `none` or
 * `false` says that it is known not to have happened.
 *
 * Yards are whole yards from the own goal line of the *offense*: the team that snaps, or that kicks on a free
 * kick, for the whole play even after a change of possession. 100 is the defense's goal line.
 * Sides are named by the wing who stands there (see `sides.ts`).
 */
export const playSchema = z.strictObject({
  kind: z.enum(playKinds),
  spot: yardLine('spot'),

  // When
  quarter: z.optional(whole(1, 12)),
  clockSeconds: z.optional(whole(0, 900)),
  clockAbout: z.optional(whole(0, 900)),
  down: z.optional(whole(1, 4)),
  distance: z.optional(whole(1, 99)),
  offense: z.optional(z.enum(['home', 'visitor'])),

  // Before the snap
  snapSide: z.optional(z.enum(lanes)),
  strongSide: z.optional(z.enum(lanes)),
  shift: z.optional(z.boolean()),
  snapFor: z.optional(z.enum(['play', 'kneel', 'spike'])),
  hurryUp: z.optional(z.boolean()),
  offenseSubstituted: z.optional(z.boolean()),
  motion: z.optional(z.enum(['none', ...lanes])),
  motionFrom: z.optional(z.enum(lanes)),

  // During the down
  playSide: z.optional(z.enum(lanes)),
  carrier: z.optional(z.enum(['quarterback', 'other'])),
  passResult: z.optional(z.enum(['complete', 'incomplete', 'intercepted', 'sack', 'scramble'])),
  catchDepth: z.optional(whole(-50, 100)),
  throwDepth: z.optional(whole(-50, 100)),
  quickPass: z.optional(z.boolean()),
  pressure: z.optional(z.boolean()),
  catchInQuestion: z.optional(z.boolean()),
  backwardPass: z.optional(z.boolean()),
  drivenBack: z.optional(z.boolean()),
  looseBall: z.optional(z.enum(['none', 'fumble', 'muff', 'blocked kick'])),
  fumbleOrDown: z.optional(z.boolean()),
  looseBallSpot: z.optional(yardLine('looseBallSpot')),
  looseBallSide: z.optional(z.enum(lanes)),
  recoveredBy: z.optional(z.enum(['offense', 'defense'])),
  pile: z.optional(z.boolean()),

  // Kicks
  kickResult: z.optional(
    z.enum(['returned', 'fair catch', 'touchback', 'downed', 'out of bounds', 'blocked', 'good', 'no good']),
  ),
  kickTo: z.optional(yardLine('kickTo')),
  kickSide: z.optional(z.enum(lanes)),
  kickCrossed: z.optional(z.boolean()),
  kickTouchedBy: z.optional(z.enum(['nobody', 'kicking team', 'receiving team', 'both'])),
  fairCatchSignal: z.optional(z.boolean()),
  momentum: z.optional(z.boolean()),
  onside: z.optional(z.boolean()),
  firstTouching: z.optional(z.boolean()),
  tryBy: z.optional(z.enum(['kick', 'run', 'pass'])),

  // How it ended
  endSpot: z.optional(
    z
      .int('endSpot must be a whole yard')
      .check(z.minimum(-50, 'endSpot must be -50 to 150'), z.maximum(150, 'endSpot must be -50 to 150')),
  ),
  endSide: z.optional(z.enum(lanes)),
  outOfBounds: z.optional(z.boolean()),
  endedBy: z.optional(z.enum(positions)),
  yardsFromSideline: z.optional(whole(0, 27)),
  ruledBy: z.optional(z.enum(positions)),
  rulingsDiffered: z.optional(z.boolean()),
  lineToGainInQuestion: z.optional(z.boolean()),
  measured: z.optional(z.boolean()),
  score: z.optional(z.enum(['none', 'touchdown', 'field goal', 'safety', 'try good'])),
  turnover: z.optional(z.enum(['none', 'interception', 'fumble', 'downs'])),

  // After the ball was dead
  fouls: z.optional(z.array(foulSchema).check(z.maxLength(10))),
  helmetOff: z.optional(z.boolean()),
  helmetOffByFoul: z.optional(z.boolean()),
  injury: z.optional(z.boolean()),
  confrontation: z.optional(z.boolean()),
  coachDispute: z.optional(z.boolean()),
  ejection: z.optional(z.boolean()),
  timeout: z.optional(z.enum(['none', 'team', 'official'])),
  timeoutBy: z.optional(z.enum(['offense', 'defense'])),
  clockAfter: z.optional(z.enum(['running', 'stopped'])),
  clockStoppedFor: z.optional(z.enum(clockStops)),
  clockStoppedBy: z.optional(z.enum(positions)),
  clockStartsOn: z.optional(z.enum(['ready', 'snap'])),
  tenSecondRunoff: z.optional(z.boolean()),
  inadvertentWhistle: z.optional(z.boolean()),
  replay: z.optional(z.enum(['none', 'confirmed', 'stands', 'overturned'])),
});

export type Play = z.infer<typeof playSchema>;
export type Fact = keyof Play;
export const facts = Object.keys(playSchema.shape) as readonly Fact[];
