import { subRip, webVtt } from '../timeline/caption-files.ts';
import { captionsOf } from '../timeline/captions.ts';
import type { Cue } from '../timeline/cue.ts';
import { framesIn } from '../timeline/frames.ts';
import type { Reel } from './reel-store.ts';

/** A ready reel's narration as captions at the reel's own places. */
export const reelCaptions = (reel: Reel, form: 'vtt' | 'srt'): string =>
  (form === 'vtt' ? webVtt : subRip)(captionsOf(cuesOf(reel)));

/** By what was made: each play's narration over its film, up to the question where one stands between its shots. */
function cuesOf({ plan, facts }: Reel): Cue[] {
  const narration = new Map(plan.plays.map((play) => [play.number, play.narration]));
  const cues: Cue[] = [];
  let done = 0;
  const silent = (to: number) => {
    if (to > done) cues.push({ title: '', frames: to - done, film: null, narration: '' });
    done = Math.max(done, to);
  };
  for (const { number, frame, frames } of facts?.plays ?? []) {
    silent(frame);
    const stop = facts!.questions.find(
      (one) => one.number === number && one.frame > frame && one.frame < frame + frames,
    );
    const card = stop ? questionFrames(plan, number) : 0;
    const end = stop ? stop.frame - card : frame + frames;
    cues.push({
      title: `Play ${number}`,
      frames: end - frame,
      film: null,
      narration: narration.get(number) ?? '',
    });
    done = end;
  }
  silent(facts?.frames ?? framesIn(0));
  return cues;
}

const questionFrames = ({ segments }: Reel['plan'], number: number) =>
  segments.reduce(
    (sum, one) => sum + (one.kind === 'card' && one.stops && one.play === number ? one.frames : 0),
    0,
  );
