import { placesOfReel } from '../programs/edition-places.ts';
import { cuesAt } from '../programs/editor-cues.ts';
import { subRip, webVtt } from '../timeline/caption-files.ts';
import { captionsOf } from '../timeline/captions.ts';
import type { Reel } from './reel-store.ts';

/** A ready reel's narration as captions at the reel's own places. */
export function reelCaptions({ plan, facts }: Reel, form: 'vtt' | 'srt'): string {
  const narration = new Map(plan.plays.map((play) => [play.number, play.narration]));
  const stops = plan.segments.flatMap((one) => (one.kind === 'card' && one.stops ? [one] : []));
  const cues = facts
    ? cuesAt(placesOfReel({ ...facts, stops }), (number) => ({
        ...{ title: `Play ${number}`, film: null, narration: narration.get(number) ?? '' },
      }))
    : [];
  return (form === 'vtt' ? webVtt : subRip)(captionsOf(cues));
}
