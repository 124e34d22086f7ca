/** One play of a reel, or the cards between two, in the order they are shown. */
export interface Cue {
  /** What editors and viewers see of it: no name, crew or team. */
  title: string;
  /** Frames it is shown for, 1 or more. */
  frames: number;
  /** Where its picture is from; null while there is no film of the play. */
  film: { url: string; firstFrame: number } | null;
  /** What is said over it; empty for nothing. */
  narration: string;
  /** Cards of the reel stand there: no film belongs to it. */
  card?: boolean;
}

/** A cue with the frames of the reel before it. */
interface PlacedCue extends Cue {
  start: number;
}

/** @throws RangeError when a cue is not shown for a whole number of frames of 1 or more. */
export function placed(cues: readonly Cue[]): PlacedCue[] {
  let start = 0;
  return cues.map((cue) => {
    if (!(Number.isInteger(cue.frames) && cue.frames >= 1)) {
      throw new RangeError(`"${cue.title}" must be shown for 1 frame or more, not ${cue.frames}`);
    }
    const own = { ...cue, start };
    start += cue.frames;
    return own;
  });
}
