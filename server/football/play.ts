import { z } from 'zod';
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
  kind: z
    .enum(playKinds)
    .describe(
      'What kind of down or kick it was; "no snap": the whistle came before the ball was put in play.',
    ),
  spot: yardLine('spot').describe('Where the ball was put in play, 0..100.'),

  // When
  quarter: z.int().min(1).max(12).optional().describe('1 to 4; 5 and up are overtime periods.'),
  clockSeconds: z
    .int()
    .min(0)
    .max(900)
    .optional()
    .describe('Game clock at the snap, seconds left in the quarter.'),
  clockAbout: z
    .int()
    .min(0)
    .max(900)
    .optional()
    .describe(
      'About what the game clock was at the snap, when nobody read it: an estimate in seconds. It decides only what lies far from it; "clockSeconds" prevails.',
    ),
  down: z.int().min(1).max(4).optional().describe('1 to 4.'),
  distance: z
    .int()
    .min(1)
    .max(99)
    .optional()
    .describe('Yards to the line to gain at the snap; goal to go when it reaches the goal line.'),
  offense: z.enum(['home', 'visitor']).optional().describe('Which team snaps or kicks.'),

  // Before the snap
  snapSide: z
    .enum(lanes)
    .optional()
    .describe('Across the field, where the ball was put in play: the hash of that side, or between the two.'),
  strongSide: z
    .enum(lanes)
    .optional()
    .describe('The side with more eligible receivers; "middle" when both have as many.'),
  shift: z.boolean().optional().describe('Two or more players of the offense shifted before the snap.'),
  snapFor: z
    .enum(['play', 'kneel', 'spike'])
    .optional()
    .describe('What the snap was for: a play, or only to run the clock (kneel) or to stop it (spike).'),
  hurryUp: z.boolean().optional().describe('The offense hurried to the line without a huddle.'),
  offenseSubstituted: z.boolean().optional().describe('The offense substituted before this snap.'),
  motion: z
    .enum(['none', ...lanes])
    .optional()
    .describe('Where the player in motion went, or "none".'),
  motionFrom: z.enum(lanes).optional().describe('Where the player in motion came from.'),

  // During the down
  playSide: z
    .enum(lanes)
    .optional()
    .describe('Where the run went or the pass was thrown; on a kick, where it was returned.'),
  carrier: z.enum(['quarterback', 'other']).optional().describe('Who ran with the ball.'),
  passResult: z
    .enum(['complete', 'incomplete', 'intercepted', 'sack', 'scramble'])
    .optional()
    .describe('What came of the pass; a sack or a scramble is a pass that was never thrown.'),
  catchDepth: z
    .int()
    .min(-50)
    .max(100)
    .optional()
    .describe(
      'Yards from the neutral zone to where a pass was caught or first touched: negative behind, positive beyond.',
    ),
  throwDepth: z
    .int()
    .min(-50)
    .max(100)
    .optional()
    .describe(
      "Yards from the neutral zone to the passer's foot at release: negative behind, positive beyond.",
    ),
  quickPass: z.boolean().optional().describe('Thrown at once, before the receivers are downfield.'),
  pressure: z.boolean().optional().describe('The passer was under pressure.'),
  catchInQuestion: z
    .boolean()
    .optional()
    .describe('Catch or no catch was a close ruling (trapped, juggled, feet at the line).'),
  backwardPass: z.boolean().optional().describe('A pass was thrown backward.'),
  drivenBack: z
    .boolean()
    .optional()
    .describe('The runner was driven back after forward progress was stopped.'),
  looseBall: z
    .enum(['none', 'fumble', 'muff', 'blocked kick'])
    .optional()
    .describe('How the ball came loose, if it did.'),
  fumbleOrDown: z.boolean().optional().describe('Fumble or down was a close ruling.'),
  looseBallSpot: yardLine('looseBallSpot')
    .optional()
    .describe('Where a fumble, a muff or a blocked kick came loose; 0..100 in the same frame as "spot".'),
  looseBallSide: z.enum(lanes).optional().describe('Across the field, where the ball came loose.'),
  recoveredBy: z
    .enum(['offense', 'defense'])
    .optional()
    .describe('Which team recovered the loose ball; the kicking team is the offense.'),
  pile: z.boolean().optional().describe('Players piled on the ball.'),

  // Kicks
  kickResult: z
    .enum(['returned', 'fair catch', 'touchback', 'downed', 'out of bounds', 'blocked', 'good', 'no good'])
    .optional()
    .describe('What came of the kick.'),
  kickTo: yardLine('kickTo')
    .optional()
    .describe('Where a kick came down or was first touched; 0..100 in the same frame as "spot".'),
  kickSide: z
    .enum(lanes)
    .optional()
    .describe('The side the kick came down on; "playSide" is the side it was returned to.'),
  kickCrossed: z.boolean().optional().describe('The kick crossed the neutral zone.'),
  kickTouchedBy: z
    .enum(['nobody', 'kicking team', 'receiving team', 'both'])
    .optional()
    .describe('Who touched the kick beyond the neutral zone.'),
  fairCatchSignal: z
    .boolean()
    .optional()
    .describe('A player of the receiving team gave a fair-catch signal, valid or not.'),
  momentum: z
    .boolean()
    .optional()
    .describe(
      'A catch or recovery near the own goal line was carried into the end zone by its own momentum.',
    ),
  onside: z.boolean().optional().describe('The free kick was meant to be recovered by the kicking team.'),
  firstTouching: z
    .boolean()
    .optional()
    .describe('A player of the kicking team touched the kick first, beyond the neutral zone.'),
  tryBy: z.enum(['kick', 'run', 'pass']).optional().describe('How the try was attempted.'),

  // How it ended
  endSpot: z
    .int('endSpot must be a whole yard')
    .min(-50, 'endSpot must be -50 to 150')
    .max(150, 'endSpot must be -50 to 150')
    .optional()
    .describe(
      'Where the ball was dead, or where forward progress ended, in the same count as spot. Below 0 and above 100 it lies behind a goal line, and is decided as on it; beyond an end line it is kept and told as a contradiction.',
    ),
  endSide: z.enum(lanes).optional().describe('Across the field, where the ball was dead.'),
  outOfBounds: z.boolean().optional().describe('The ball was dead out of bounds.'),
  endedBy: z
    .enum(positions)
    .optional()
    .describe('The official who ended the play, when the observer noted it.'),
  yardsFromSideline: z
    .int()
    .min(0)
    .max(27)
    .optional()
    .describe('Yards from the nearer sideline to where the ball was dead; 0 on it or out.'),
  ruledBy: z
    .enum(positions)
    .optional()
    .describe(
      'Who gave the ruling that mattered most on the play: catch, fumble or down, touchdown, safety.',
    ),
  rulingsDiffered: z
    .boolean()
    .optional()
    .describe(
      'Two officials first ruled differently (catch, in or out, forward or backward, fumble or down, score).',
    ),
  lineToGainInQuestion: z
    .boolean()
    .optional()
    .describe('The spot was so near the line to gain that somebody had to decide.'),
  measured: z.boolean().optional().describe('The chains were brought out.'),
  score: z
    .enum(['none', 'touchdown', 'field goal', 'safety', 'try good'])
    .optional()
    .describe('What was scored on the play.'),
  turnover: z
    .enum(['none', 'interception', 'fumble', 'downs'])
    .optional()
    .describe('How the offense lost the ball, if it did.'),

  // After the ball was dead
  fouls: z
    .array(foulSchema)
    .max(10)
    .optional()
    .describe('Every foul called; an empty list says that there was none.'),
  helmetOff: z.boolean().optional().describe('A helmet came off during the play.'),
  helmetOffByFoul: z.boolean().optional().describe("The helmet came off through an opponent's foul."),
  injury: z.boolean().optional().describe('Play stopped for an injury.'),
  confrontation: z.boolean().optional().describe('Opponents confronted each other after the ball was dead.'),
  coachDispute: z.boolean().optional().describe('A coach disputed a ruling with an official.'),
  ejection: z.boolean().optional().describe('A player or coach was disqualified.'),
  timeout: z
    .enum(['none', 'team', 'official'])
    .optional()
    .describe('A time-out after the play, and whose kind.'),
  timeoutBy: z.enum(['offense', 'defense']).optional().describe('Whose team time-out it was.'),
  clockAfter: z
    .enum(['running', 'stopped'])
    .optional()
    .describe('Did the game clock run or stand when the ball was dead?'),
  clockStoppedFor: z
    .enum(clockStops)
    .optional()
    .describe('What stopped the game clock first; "none" when it ran on.'),
  clockStoppedBy: z.enum(positions).optional().describe('The official who stopped the clock.'),
  clockStartsOn: z.enum(['ready', 'snap']).optional().describe('What a stopped clock waits for.'),
  tenSecondRunoff: z
    .boolean()
    .optional()
    .describe(
      'Ten seconds were taken off the clock, or could have been, after a foul, an injury or a review late in a half.',
    ),
  inadvertentWhistle: z
    .boolean()
    .optional()
    .describe('An official blew the whistle while the ball was still live.'),
  replay: z
    .enum(['none', 'confirmed', 'stands', 'overturned'])
    .optional()
    .describe('Was the ruling reviewed, and what came of it?'),
});

export type Play = z.infer<typeof playSchema>;
export type Fact = keyof Play;
export const facts = Object.keys(playSchema.shape) as readonly Fact[];
