import { z } from 'zod';
import { typedText } from '../../text/typed-text.ts';
import { staffRoles } from '../roles.ts';

const usualDays = 90;
const mostDays = 365;
const days = `Write a number of days from 1 to ${mostDays}.`;

/** What a token for a program is made of. */
export const tokenInput = z.object({
  name: typedText({
    least: 1,
    most: 60,
    tooShort: 'Write what the token is for, such as the program that uses it.',
    tooLong: 'Write the name in at most 60 characters.',
  })
    .refine(
      (name) => !/[\n\v\f\r\u0085\u2028\u2029\t]/.test(name),
      'Write the name in one line, without tabs.',
    )
    .describe('What it is for; the trail names it.'),
  role: z.enum(staffRoles, 'Choose a role that you have.').describe('One of the roles of who makes it.'),
  readOnly: z.boolean().default(false).describe('True: it changes nothing.'),
  days: z
    .int(days)
    .min(1, days)
    .max(mostDays, days)
    .default(usualDays)
    .describe('After so many days it stops working.'),
});
export type TokenInput = z.infer<typeof tokenInput>;
