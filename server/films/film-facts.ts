import { z } from 'zod';

/** What was found by looking at a film's file. */
export const filmFacts = z.object({
  seconds: z.number().describe('How long it is.'),
  width: z.int().describe('Of the picture as it is shown, in pixels.'),
  height: z.int(),
  rate: z.number().describe('Frames a second, on average.'),
  variable: z.boolean().describe('Frames do not follow each other evenly.'),
  rotated: z.int().describe('By how many degrees a player turns the picture: 0, 90, 180 or 270.'),
  sound: z.boolean(),
  picture: z.string().describe('How the picture is coded, such as h264.'),
  form: z
    .enum(['mp4', 'webm'])
    .nullable()
    .describe('As it is served; null where no browser is known to play it.'),
});
export type FilmFacts = z.infer<typeof filmFacts>;

/** What whoever watches should know of it, in sentences. */
export function filmNotes({ variable, rotated, sound, picture, form }: FilmFacts): string[] {
  return [
    ...(sound ? [] : ['It has no sound.']),
    ...(rotated === 0 ? [] : [`Its picture is turned by ${rotated} degrees, as its camera says.`]),
    ...(variable
      ? ['Its frames do not follow each other evenly, so stepping by frame may skip or repeat one.']
      : []),
    ...(form === null
      ? [`Its picture is coded as ${picture}, which not every browser plays: export it as H.264 to be sure.`]
      : []),
  ];
}
