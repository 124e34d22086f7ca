import { z } from 'zod';
import { typedText } from '../text/typed-text.ts';

export const angleName = typedText({
  most: 80,
  least: 1,
  tooShort: 'must name the angle, such as Sideline or End zone',
}).describe('What the film is called among the game’s others.');

export const filmLink = typedText({ most: 2000 })
  .refine((text) => {
    const address = URL.canParse(text) ? new URL(text) : undefined;
    return address?.protocol === 'https:' && address.username === '' && address.password === '';
  }, 'must be an address that begins with https:// and leads to the film’s file')
  .describe('An https address of a file that browsers play. It is neither fetched nor kept by this server.');

export const filmSecondsInput = z
  .number('must be seconds from the beginning of the film')
  .min(0, 'must not be before the film’s beginning')
  .max(86_400, 'must be within a day')
  .describe('Where the play’s snap is in the film.');

const uploadMetadata = z.object({
  angle: angleName,
  filename: typedText({ most: 255 }).default(''),
});

/** What a program tells of an upload: `Upload-Metadata` of tus 1.0.0, names and base64 of values, by commas. */
export function readUploadMetadata(
  header: string | undefined,
): z.ZodSafeParseResult<z.infer<typeof uploadMetadata>> {
  const pairs = (header ?? '').split(',').flatMap((pair) => {
    const [name, value = ''] = pair.trim().split(' ');
    return name ? [[name, Buffer.from(value, 'base64').toString('utf8')] as const] : [];
  });
  return uploadMetadata.safeParse(Object.fromEntries(pairs));
}
