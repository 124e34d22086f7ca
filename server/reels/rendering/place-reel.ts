import { longestHold } from '../../timeline/cut-length.ts';
import { framesIn } from '../../timeline/frames.ts';
import { placeShot, type ShotFrames, type SourceFrames, samplesIn } from '../../timeline/shot-frames.ts';
import { narrated } from '../plan/reel-places.ts';
import type { ReelPlan } from '../plan/reel-plan.ts';
import { ReelFailed } from './trouble.ts';

/** A segment in whole frames; of a card `place` is null. */
export interface PlacedSegment {
  readonly place: ShotFrames | null;
  /** Frames for which its last one is held, until a voice ends. */
  readonly hold: number;
  /** All its frames. */
  readonly frames: number;
  /** The sample of its play's voice with which it begins; null where nothing is said. */
  readonly voiceFrom: number | null;
}

/**
 * Every segment of the plan in frames of the films.
 * @param voices samples of each play's voice, by its number
 * @throws ReelFailed where a shot reaches beyond its film
 */
export function placeReel(
  plan: ReelPlan,
  framesOf: (filmId: string) => SourceFrames,
  voices: ReadonlyMap<number, number>,
): PlacedSegment[] {
  const placed = plan.segments.map((segment): PlacedSegment => {
    if (segment.kind === 'card') return { place: null, hold: 0, frames: segment.frames, voiceFrom: null };
    const place = placeShot(segment.shot, framesOf(segment.shot.filmId));
    if ('beyond' in place)
      throw new ReelFailed(`Play ${segment.play} cannot be cut. ${place.beyond} Set its out point anew.`);
    return { place, hold: 0, frames: place.frames, voiceFrom: null };
  });
  for (const [number, samples] of voices) {
    const own = narrated(plan, number);
    let before = 0;
    for (const at of own) {
      placed[at] = { ...placed[at]!, voiceFrom: samplesIn(before) };
      before += placed[at]!.frames;
    }
    const last = own.at(-1);
    if (last === undefined) continue;
    const needed = Math.min(before + framesIn(longestHold), Math.ceil((samples * 30_000) / (1001 * 48_000)));
    const hold = Math.max(0, needed - before);
    placed[last] = { ...placed[last]!, hold, frames: placed[last]!.frames + hold };
  }
  return placed;
}
