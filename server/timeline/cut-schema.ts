import { z } from 'zod';

/** A time in a film: a whole number of ticks of its timebase (`ticks × numerator ÷ denominator` seconds). */
const ticks = z.int().min(0).max(Number.MAX_SAFE_INTEGER);
export const timebaseSchema = z.object({
  numerator: z.int().min(1).max(1_000_000),
  denominator: z.int().min(1).max(10_000_000),
});
export type Timebase = z.output<typeof timebaseSchema>;

/** A part of the picture's width or height, from its left or upper edge. */
const part = z.number().min(0).max(1);

/** Each side of a cover, as a part of the picture's: a smaller one hides nothing and is not seen. */
const leastCover = 0.005;

/** What has two ends: `x`, `y` and `tailX`, `tailY`. */
const hasTail = (shape: string): boolean => shape === 'arrow' || shape === 'cover';

/** Drawn on the frames from `from` up to `to`, following nothing. A cover hides what nobody is to read: a scoreboard, names. */
const pointerSchema = z
  .object({
    shape: z.enum(['circle', 'arrow', 'spotlight', 'cover']),
    from: ticks,
    to: ticks,
    x: part,
    y: part,
    tailX: part
      .nullable()
      .default(null)
      .describe(
        'of an arrow: where it begins; x and y are its tip. Of a cover: the corner opposite to that of x and y',
      ),
    tailY: part.nullable().default(null),
    size: part.default(0.08).describe('radius of a circle or spotlight, as a part of the width'),
  })
  .refine(({ from, to }) => from < to, { path: ['to'], message: 'must be later than its begin' })
  .refine(({ shape, tailX, tailY }) => !hasTail(shape) || (tailX !== null && tailY !== null), {
    path: ['tailX'],
    message: 'an arrow needs the place where it begins, a cover its opposite corner',
  })
  .refine(
    ({ shape, x, y, tailX, tailY }) =>
      shape !== 'cover' ||
      tailX === null ||
      tailY === null ||
      Math.min(Math.abs(x - tailX), Math.abs(y - tailY)) >= leastCover,
    {
      path: ['tailX'],
      message: 'both corners of the cover lie on one line, so it hides nothing: move one of them away',
    },
  );
export type Pointer = z.output<typeof pointerSchema>;

/** A stretch of one film. A slow repeat is a shot of its own. */
export const shotSchema = z
  .object({
    filmId: z.uuid(),
    timebase: timebaseSchema,
    from: ticks.describe('of the first frame that is shown'),
    to: ticks.describe('of the first frame that is not shown any more'),
    slow: z.int().min(1).max(8).default(1).describe('each frame is shown so many times'),
    freezes: z
      .array(
        z.object({
          at: ticks,
          seconds: z.number().min(0.1, 'must be 0.1 seconds or more').max(30, 'must be 30 seconds or less'),
        }),
      )
      .max(5, 'five freezes at most')
      .default([]),
    pointers: z.array(pointerSchema).max(10, 'ten pointers at most').default([]),
    muted: z.boolean().default(true),
  })
  .refine(({ from, to }) => from < to, {
    path: ['to'],
    message: 'the out point must be later than the in point',
  })
  .refine(({ from, to, freezes }) => freezes.every(({ at }) => at >= from && at < to), {
    path: ['freezes'],
    message: 'a freeze must lie between the in point and the out point',
  })
  .refine(({ from, to, pointers }) => pointers.every((one) => one.from >= from && one.to <= to), {
    path: ['pointers'],
    message: 'a pointer must lie between the in point and the out point',
  });
export type Shot = z.output<typeof shotSchema>;

/** How a play is cut from films. */
export const cutSchema = z
  .object({
    shots: z.array(shotSchema).min(1, 'needs a shot at least').max(8, 'eight shots at most'),
    questionAfter: z
      .int()
      .min(1)
      .nullable()
      .default(null)
      .describe(
        'after how many shots the reel stops for the question; null: after all of them, before the answer',
      ),
    voice: z
      .discriminatedUnion('kind', [
        z.object({ kind: z.literal('spoken') }),
        z.object({ kind: z.literal('recorded'), recordingId: z.uuid() }),
      ])
      .nullable()
      .default(null)
      .describe(
        'spoken: a machine reads the narration aloud, where the server has espeak-ng; recorded: a person was recorded for this play; null: nobody is heard',
      ),
  })
  .refine(({ shots, questionAfter }) => questionAfter === null || questionAfter <= shots.length, {
    path: ['questionAfter'],
    message: 'there are not so many shots',
  });
export type Cut = z.output<typeof cutSchema>;
/** Who is heard over a play: a machine that reads its narration, or a person who was recorded. */
export type CutVoice = NonNullable<Cut['voice']>;
