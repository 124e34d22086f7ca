/** The rules book a conference plays by. It decides yardages, clock, overtime, wording and what a duty cites. */
export const codes = ['college', 'high school'] as const;
export type Code = (typeof codes)[number];

/**
 * What the two codes set differently and the program needs. From memory of the books named in `citations.ts`: check
 * the current edition, which prevails.
 */
export interface CodeFacts {
  /** Seconds of a quarter. */
  readonly quarterSeconds: number;
  /** Yards from the kicking team's goal line. */
  readonly kickoffFrom: number;
  readonly freeKickAfterSafetyFrom: number;
  /** Yards from the offense's goal line: a try is snapped 3 yards from the goal. */
  readonly tryFrom: number;
  /** Where the next series starts after a touchback, from the receiving team's goal line. */
  readonly touchbackOfFreeKick: number;
  readonly touchbackOfPunt: number;
  /** Where an overtime series starts, from the defense's goal line. */
  readonly overtimeFrom: number;
  /** Does reaching the line to gain stop the clock at any time, or only late in a half? */
  readonly firstDownStopsClock: 'always' | 'late in a half';
  /** After a runner goes out of bounds, what the clock waits for outside the last two minutes of a half. */
  readonly afterOutOfBounds: 'ready' | 'snap';
  /** Is there a time-out by rule at two minutes? */
  readonly twoMinuteTimeout: boolean;
  /** Can ten seconds be taken off the clock late in a half? */
  readonly tenSecondRunoff: boolean;
  /** Replay review as part of the rules. */
  readonly replayReview: boolean;
}

export const codeFacts: Readonly<Record<Code, CodeFacts>> = {
  college: {
    quarterSeconds: 900,
    kickoffFrom: 35,
    freeKickAfterSafetyFrom: 20,
    tryFrom: 97,
    touchbackOfFreeKick: 25,
    touchbackOfPunt: 20,
    overtimeFrom: 25,
    firstDownStopsClock: 'late in a half',
    afterOutOfBounds: 'ready',
    twoMinuteTimeout: true,
    tenSecondRunoff: true,
    replayReview: true,
  },
  'high school': {
    quarterSeconds: 720,
    kickoffFrom: 40,
    freeKickAfterSafetyFrom: 20,
    tryFrom: 97,
    touchbackOfFreeKick: 20,
    touchbackOfPunt: 20,
    overtimeFrom: 10,
    firstDownStopsClock: 'always',
    afterOutOfBounds: 'snap',
    twoMinuteTimeout: false,
    tenSecondRunoff: false,
    replayReview: false,
  },
};
