import { framesIn } from '../timeline/frames.ts';
import type { Edition, EditionPlay } from './edition.ts';
import { filmSeconds } from './film-seconds.ts';

/** What a finished reel shows where; frames count from its first. */
export interface MadeReel {
  readonly frames: number;
  readonly plays: readonly { readonly number: number; readonly frame: number; readonly frames: number }[];
  /** It stops before this frame, where the card of the question ends. */
  readonly questions: readonly { readonly number: number; readonly frame: number }[];
  /** Cards of questions, by play. */
  readonly stops: readonly { readonly play: number | null; readonly frames: number }[];
}

interface Stretch {
  readonly frame: number;
  readonly frames: number;
}

/** Where each play of an edition stands in its reel. */
export interface EditionPlaces {
  /** As a reel was made of it; else as it is planned, cut after cut, without cards or stops. */
  readonly made: boolean;
  readonly frames: number;
  /** The film of each: one stretch, or two where the question comes in between. */
  readonly plays: readonly { readonly number: number; readonly stretches: readonly Stretch[] }[];
}

/** The one rule for all that follows a reel: what was made where there is one, what is planned before. */
export const placesOfEdition = (
  edition: Pick<Edition, 'content' | 'cuts'>,
  made: MadeReel | null,
): EditionPlaces => (made === null ? planned(edition) : placesOfReel(made));

export const placesOfReel = (made: MadeReel): EditionPlaces => ({
  made: true,
  frames: made.frames,
  plays: made.plays.map(({ number, frame, frames }) => {
    const end = frame + frames;
    const stop = made.questions.find((one) => one.number === number && one.frame > frame && one.frame < end);
    if (!stop) return { number, stretches: [{ frame, frames }] };
    const card = made.stops.reduce((sum, one) => sum + (one.play === number ? one.frames : 0), 0);
    return {
      number,
      stretches: [
        { frame, frames: stop.frame - card - frame },
        { frame: stop.frame, frames: end - stop.frame },
      ],
    };
  }),
});

/** Seconds that a play is planned to be shown: as it was cut, else around its snap. */
export function plannedSeconds(play: EditionPlay, cuts: Edition['cuts']): number {
  return filmSeconds(
    play,
    cuts.find(({ number }) => number === play.number),
  );
}

function planned({ content, cuts }: Pick<Edition, 'content' | 'cuts'>): EditionPlaces {
  let frame = 0;
  const plays = content.plays.map((play) => {
    const own = { frame, frames: Math.max(1, framesIn(plannedSeconds(play, cuts))) };
    frame += own.frames;
    return { number: play.number, stretches: [own] };
  });
  return { made: false, frames: frame, plays };
}
