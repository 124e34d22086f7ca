import * as z from 'zod/mini'; // runs in browsers too, at a third of the size
import { mirrorPosition, wings } from './crews.ts';

/**
 * Mechanics that crews work differently, each with the default that is common practice (no source). They are settings
 * of the conference and kept with the rubric version: they decide who owed what.
 */
export const practicesSchema = z.strictObject({
  /** Which wing gives the spot when the ball is dead between the hashes; the other mirrors it. */
  spotInTheMiddle: z._default(z.enum(wings), 'head linesman'),
  /** Whose a player in motion is: the wing that the motion leaves, or the wing it comes near. */
  motion: z._default(z.enum(['the wing it leaves', 'the wing it nears']), 'the wing it nears'),
  /** Who has the pylons on snaps at or inside the 5 in crews with deep wings. */
  pylonsInsideTheFive: z._default(z.enum(['wings', 'deep wings']), 'wings'),
  /** Where the back judge stands on free kicks. */
  backJudgeOnFreeKicks: z._default(
    z.enum(["at the kicking team's line", 'deep']),
    "at the kicking team's line",
  ),
});
export type Practices = z.output<typeof practicesSchema>;
export const usualPractices: Practices = practicesSchema.parse({});

/** The same practices seen in a mirror: with mirrored plays they give mirrored owners. */
export function mirrorPractices(practices: Practices): Practices {
  return {
    ...practices,
    spotInTheMiddle: mirrorPosition(practices.spotInTheMiddle) as (typeof wings)[number],
  };
}
