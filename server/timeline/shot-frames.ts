import { type Shot, secondsOfTicks, type Timebase } from './cut.ts';
import { frameRate, framesIn } from './frames.ts';

/** The frames of a film's picture as its file has them. */
export interface SourceFrames {
  /** When each is shown, in order, by a player's clock: 0 where the file begins. */
  readonly ticks: ArrayLike<number>;
  readonly timebase: Timebase;
}

/** A shot in whole frames: of its film, and of the reel. */
export interface ShotFrames {
  /** Which of the film's frames is shown first. */
  readonly firstFrame: number;
  /** Seconds into the file at which that frame is. */
  readonly seek: number;
  /** Frames at the reel's rate before any is repeated. */
  readonly taken: number;
  readonly slow: number;
  /** Each holds the frame `after`, of those taken, for so many more. */
  readonly freezes: readonly { readonly after: number; readonly frames: number }[];
  /** When each pointer is drawn: from a frame of the clip to the last, both in it. */
  readonly pointers: readonly { readonly from: number; readonly last: number }[];
  /** Of the finished clip. */
  readonly frames: number;
}

/** Two clocks may differ by so much where they mean one frame, seconds. */
const sameFrame = 0.0001;
/** A seek is that much early, so that rounding cannot skip its frame. */
export const seekEarly = 0.001;
/** An out point may lie so far past the last frame's end: a frame's length differs. Seconds. */
const pastEnd = 0.25;

/** @returns a sentence where the film does not reach so far */
export function placeShot(shot: Shot, source: SourceFrames): ShotFrames | { readonly beyond: string } {
  const { ticks, timebase } = source;
  const at = (index: number) => secondsOfTicks(ticks[index]!, timebase);
  const indexOf = (tick: number) => firstFrom(ticks, timebase, secondsOfTicks(tick, shot.timebase));
  const end = endOf(source);
  const firstFrame = indexOf(shot.from);
  const out = secondsOfTicks(shot.to, shot.timebase);
  if (firstFrame >= ticks.length || out > end + pastEnd) {
    return { beyond: `It is cut up to ${out.toFixed(3)} s of a film that ends at ${end.toFixed(3)} s.` };
  }
  const first = at(firstFrame);
  const lastIndex = indexOf(shot.to);
  const until = lastIndex < ticks.length ? at(lastIndex) : end;
  const taken = Math.max(1, framesIn(until - first));
  /** Which of the frames taken shows a moment of the film. */
  const takenAt = (tick: number) => {
    const index = Math.min(indexOf(tick), ticks.length - 1);
    return Math.min(taken - 1, framesIn(Math.max(0, at(index) - first + seekEarly)));
  };
  const freezes = shot.freezes
    .map(({ at: tick, seconds }) => ({ after: takenAt(tick), frames: framesIn(seconds) }))
    .sort((one, other) => one.after - other.after);
  const map = { slow: shot.slow, freezes };
  const frames = placeOf(map, taken);
  return {
    ...{ firstFrame, seek: first, taken, ...map, frames },
    pointers: shot.pointers.map(({ from, to }) => {
      const begin = placeOf(map, takenAt(from));
      const stop = indexOf(to) >= lastIndex ? frames : placeOf(map, takenAt(to));
      return { from: begin, last: Math.max(begin, stop - 1) };
    }),
  };
}

/** At which frame of the clip a frame taken is shown first; of the one after the last, the clip's length. */
const placeOf = ({ slow, freezes }: Pick<ShotFrames, 'slow' | 'freezes'>, taken: number): number =>
  taken * slow + freezes.reduce((sum, { after, frames }) => sum + (after < taken ? frames : 0), 0);

/** Samples at 48 kHz that last as long as so many frames, to the nearest. */
export const samplesIn = (frames: number): number =>
  Math.round((frames * frameRate.seconds * 48_000) / frameRate.frames);

function firstFrom(ticks: ArrayLike<number>, timebase: Timebase, seconds: number): number {
  let low = 0;
  let high = ticks.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (secondsOfTicks(ticks[middle]!, timebase) < seconds - sameFrame) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Where the last frame ends: after as long as most of the last ones take. */
function endOf({ ticks, timebase }: SourceFrames): number {
  const steps: number[] = [];
  for (let at = Math.max(1, ticks.length - 50); at < ticks.length; at += 1)
    steps.push(ticks[at]! - ticks[at - 1]!);
  const usual = steps.sort((one, other) => one - other)[steps.length >> 1] ?? 0;
  return secondsOfTicks((ticks[ticks.length - 1] ?? 0) + usual, timebase);
}
