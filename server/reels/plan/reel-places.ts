import { z } from 'zod';
import type { Cue } from '../../timeline/cue.ts';
import { secondsOf } from '../../timeline/frames.ts';
import type { ReelPlan } from './reel-plan.ts';

/** What was made, once it is ready; frames count from the reel's first. */
export const reelFactsSchema = z.object({
  frames: z.int(),
  seconds: z.number(),
  chapters: z.array(z.object({ title: z.string(), frame: z.int() })),
  plays: z.array(z.object({ number: z.int(), frame: z.int(), frames: z.int() })),
  questions: z
    .array(z.object({ number: z.int(), frame: z.int() }))
    .describe('the reel stops before it shows this frame'),
  hasSound: z.boolean(),
  notes: z.array(z.string()).describe('what is not as it was meant, in sentences'),
});
export type ReelFacts = z.output<typeof reelFactsSchema>;

/** @param lengths frames of each segment of the plan */
export function placesOf(
  { segments, plays }: ReelPlan,
  lengths: readonly number[],
): Omit<ReelFacts, 'hasSound' | 'notes'> {
  const starts = startsOf(lengths);
  const frames = starts.at(-1)!;
  return {
    frames,
    seconds: secondsOf(frames),
    chapters: segments.flatMap(({ chapter }, at) =>
      chapter === null ? [] : [{ title: chapter, frame: starts[at]! }],
    ),
    plays: plays.map(({ number }) => {
      const own = segments.flatMap((segment, at) => (showsPlay(segment, number) ? [at] : []));
      const [first, last] = [own[0]!, own.at(-1)!];
      return { number, frame: starts[first]!, frames: starts[last + 1]! - starts[first]! };
    }),
    questions: segments.flatMap(({ stops, play }, at) =>
      stops && play !== null ? [{ number: play, frame: starts[at + 1]! }] : [],
    ),
  };
}

const showsPlay = (segment: ReelPlan['segments'][number], number: number) =>
  segment.play === number && (segment.kind === 'shot' || segment.card.kind === 'no film');

/** Where each segment begins, and last where the reel ends. */
export function startsOf(lengths: readonly number[]): number[] {
  const starts = [0];
  for (const length of lengths) starts.push(starts.at(-1)! + length);
  return starts;
}

/** The segments over which a play's narration is heard and read: its shots up to the question. */
export function narrated({ segments }: ReelPlan, number: number): number[] {
  const own: number[] = [];
  for (const [at, segment] of segments.entries()) {
    if (segment.play !== number) continue;
    if (showsPlay(segment, number)) own.push(at);
    else if (own.length > 0) break;
  }
  return own;
}

/** The reel as cues, for captions: each play's narration over its own stretch, nothing said between. */
export function captionCues(plan: ReelPlan, lengths: readonly number[]): Cue[] {
  const starts = startsOf(lengths);
  const cues: Cue[] = [];
  let done = 0;
  const silent = (to: number) => {
    if (to > done) cues.push({ title: '', frames: to - done, film: null, narration: '' });
  };
  for (const { number, title, narration } of plan.plays) {
    const own = narrated(plan, number);
    const [from, to] = [starts[own[0]!]!, starts[own.at(-1)! + 1]!];
    silent(from);
    cues.push({ title, frames: to - from, film: null, narration });
    done = to;
  }
  silent(starts.at(-1)!);
  return cues;
}
