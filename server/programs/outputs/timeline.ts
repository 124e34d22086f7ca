import { type ReadingFit, readingFit } from '../../training/reading-time.ts';
import { clipSeconds, playingSeconds } from '../../training/running-time.ts';
import type { EditionContent, EditionPlay } from '../edition.ts';

export interface TimedPlay extends EditionPlay {
  /** Seconds into the program at which it begins. */
  readonly startsAt: number;
  readonly clip: number;
  readonly reading: ReadingFit;
}

/** The plays of an edition with when each begins, questions counted. */
export function timeline({ plays }: EditionContent): TimedPlay[] {
  let at = 0;
  return plays.map((play) => {
    const startsAt = at;
    at += playingSeconds({ ...play, hasQuestion: play.question !== '' });
    const clip = clipSeconds(play);
    return { ...play, startsAt, clip, reading: readingFit(play.narration, clip) };
  });
}

export const totalSeconds = ({ plays }: EditionContent): number =>
  plays.reduce((sum, play) => sum + playingSeconds({ ...play, hasQuestion: play.question !== '' }), 0);
