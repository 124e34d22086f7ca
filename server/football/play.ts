import { z } from 'zod';
import { foulSchema } from './fouls.ts';
import { positions } from './positions.ts';
import { lanes } from './sides.ts';

/** `no snap`: the whistle came before the ball was put in play (false start, delay, encroachment). */
export const playKinds = ['run', 'pass', 'punt', 'free kick', 'place kick', 'try', 'no snap'] as const;
export type PlayKind = (typeof playKinds)[number];

const yardLine = (what: string) =>
  z
    .int(`${what} must be a whole yard`)
    .min(0, `${what} must be 0 to 100`)
    .max(100, `${what} must be 0 to 100`);

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
  /** Where the ball was put in play, 0..100. */
  spot: yardLine('spot'),

  // When
  /** 1 to 4; 5 and up are overtime periods. */
  quarter: z.int().min(1).max(12).optional(),
  /** Game clock at the snap, seconds left in the quarter. */
  clockSeconds: z.int().min(0).max(900).optional(),
  down: z.int().min(1).max(4).optional(),
  /** Yards to the line to gain at the snap. */
  distance: z.int().min(1).max(99).optional(),

  // Before the snap
  /** The offense hurried to the line without a huddle. */
  hurryUp: z.boolean().optional(),
  /** The offense substituted before this snap. */
  offenseSubstituted: z.boolean().optional(),
  /** Where the player in motion went, or `none`. */
  motion: z.enum(['none', ...lanes]).optional(),

  // During the down
  /** Where the run went or the pass was thrown; on a kick, where it was returned. */
  playSide: z.enum(lanes).optional(),
  carrier: z.enum(['quarterback', 'other']).optional(),
  passResult: z.enum(['complete', 'incomplete', 'intercepted', 'sack', 'scramble']).optional(),
  /** Yards from the neutral zone to where a pass was caught or first touched: negative behind, positive beyond. */
  catchDepth: z.int().min(-50).max(100).optional(),
  /** Yards from the neutral zone to the passer's foot at release: negative behind, positive beyond. */
  throwDepth: z.int().min(-50).max(100).optional(),
  /** Thrown at once, before the receivers are downfield. */
  quickPass: z.boolean().optional(),
  /** The passer was under pressure. */
  pressure: z.boolean().optional(),
  /** Catch or no catch was a close ruling (trapped, juggled, feet at the line). */
  catchInQuestion: z.boolean().optional(),
  backwardPass: z.boolean().optional(),
  /** The runner was driven back after forward progress was stopped. */
  drivenBack: z.boolean().optional(),
  looseBall: z.enum(['none', 'fumble', 'muff', 'blocked kick']).optional(),
  /** Fumble or down was a close ruling. */
  fumbleOrDown: z.boolean().optional(),
  /** Players piled on the ball. */
  pile: z.boolean().optional(),

  // Kicks
  kickResult: z
    .enum(['returned', 'fair catch', 'touchback', 'downed', 'out of bounds', 'blocked', 'good', 'no good'])
    .optional(),
  onside: z.boolean().optional(),
  /** A player of the kicking team touched the kick first, beyond the neutral zone. */
  firstTouching: z.boolean().optional(),
  /** How the try was attempted. */
  tryBy: z.enum(['kick', 'run', 'pass']).optional(),

  // How it ended
  /** Where the ball was dead, or where forward progress ended; 0..100 in the same frame as `spot`. */
  endSpot: yardLine('endSpot').optional(),
  endSide: z.enum(lanes).optional(),
  outOfBounds: z.boolean().optional(),
  /** The official who ended the play, when the observer noted it. */
  endedBy: z.enum(positions).optional(),
  /** The spot was so near the line to gain that somebody had to decide. */
  lineToGainInQuestion: z.boolean().optional(),
  measured: z.boolean().optional(),
  score: z.enum(['none', 'touchdown', 'field goal', 'safety', 'try good']).optional(),
  turnover: z.enum(['none', 'interception', 'fumble', 'downs']).optional(),

  // After the ball was dead
  fouls: z.array(foulSchema).max(10).optional(),
  helmetOff: z.boolean().optional(),
  /** The helmet came off through an opponent's foul. */
  helmetOffByFoul: z.boolean().optional(),
  injury: z.boolean().optional(),
  /** Opponents confronted each other after the ball was dead. */
  confrontation: z.boolean().optional(),
  /** A coach disputed a ruling with an official. */
  coachDispute: z.boolean().optional(),
  timeout: z.enum(['none', 'team', 'official']).optional(),
  /** Did the game clock run or stand when the ball was dead? */
  clockAfter: z.enum(['running', 'stopped']).optional(),
});

export type Play = z.infer<typeof playSchema>;
export type Fact = keyof Play;
export const facts = Object.keys(playSchema.shape) as readonly Fact[];
