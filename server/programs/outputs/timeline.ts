import { secondsOf } from '../../timeline/frames.ts';
import { type ReadingFit, readingFit } from '../../training/reading-time.ts';
import { questionSeconds } from '../../training/running-time.ts';
import type { Edition, EditionPlay } from '../edition.ts';
import { type EditionPlaces, plannedSeconds } from '../edition-places.ts';

export interface TimedPlay extends EditionPlay {
  /** Seconds into the reel, or where none was made into the program, at which it begins. */
  readonly startsAt: number;
  readonly clip: number;
  readonly reading: ReadingFit;
  /** Who is heard over it. */
  readonly voice: 'recorded' | 'spoken' | 'none';
}

type Timed = Pick<Edition, 'content' | 'cuts'>;

/** The plays of an edition with when each begins: in its reel, else as planned with its questions counted. */
export function timeline({ content, cuts }: Timed, places: EditionPlaces): TimedPlay[] {
  const voiceOf = new Map(cuts.map(({ number, cut }) => [number, cut.voice?.kind]));
  const placeOf = new Map(places.plays.map((place) => [place.number, place]));
  let at = 0;
  return content.plays.map((play) => {
    const { stretches } = placeOf.get(play.number)!;
    const plannedClip = plannedSeconds(play, cuts);
    const frames = stretches.reduce((sum, stretch) => sum + stretch.frames, 0);
    const clip = places.made ? hundredths(secondsOf(frames)) : plannedClip;
    const startsAt = places.made ? secondsOf(stretches[0]!.frame) : at;
    at += plannedClip + (play.question === '' ? 0 : questionSeconds);
    return {
      ...play,
      startsAt,
      clip,
      reading: readingFit(play.narration, clip),
      voice: voiceOf.get(play.number) ?? 'none',
    };
  });
}

const hundredths = (seconds: number) => Math.round(seconds * 100) / 100;

export const totalSeconds = ({ content, cuts }: Timed, places: EditionPlaces): number =>
  places.made
    ? secondsOf(places.frames)
    : content.plays.reduce(
        (sum, play) => sum + plannedSeconds(play, cuts) + (play.question === '' ? 0 : questionSeconds),
        0,
      );
