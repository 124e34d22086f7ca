import { type Cut, type Shot, secondsOfTicks } from './cut.ts';

/** Seconds that a shot runs: slow, and with its freezes. */
export const secondsOfShot = ({ from, to, timebase, slow, freezes }: Shot): number =>
  secondsOfTicks(to - from, timebase) * slow + freezes.reduce((sum, { seconds }) => sum + seconds, 0);

/** Seconds that a play's film runs as it is cut, without the stop for its question. */
export const secondsOfCut = ({ shots }: Pick<Cut, 'shots'>): number =>
  shots.reduce((sum, shot) => sum + secondsOfShot(shot), 0);

/** Seconds of it over which a voice is heard: up to the question. @param asks whether the play has one */
export const secondsOfVoice = (
  { shots, questionAfter }: Pick<Cut, 'shots' | 'questionAfter'>,
  asks: boolean,
) => secondsOfCut({ shots: asks && questionAfter !== null ? shots.slice(0, questionAfter) : shots });

/** A voice that goes on after its play holds the last picture for so long at most, seconds. */
export const longestHold = 60;

/** What becomes of a voice that runs longer than that: the picture that is held, and what is not heard. */
export function beyondClip(voiceSeconds: number, clipSeconds: number): { held: number; lost: number } {
  const over = Math.max(0, voiceSeconds - clipSeconds);
  return { held: Math.min(over, longestHold), lost: Math.max(0, over - longestHold) };
}
