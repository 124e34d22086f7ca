import { z } from 'zod';
import { exactText, typedText } from '../text/typed-text.ts';
import { fitsTogether, onlyContact, roles } from './roles.ts';

// What people may send, for the API and the pages alike. The messages are shown beside the field.

const name = (what: string) =>
  typedText({
    least: 1,
    most: 100,
    tooShort: `Write the ${what}.`,
    tooLong: `Write the ${what} in at most 100 characters.`,
  });

export const personInput = z.object({
  email: typedText({ most: 254, tooLong: 'An e-mail address has at most 254 characters.' })
    .toLowerCase()
    .pipe(z.email('Write an e-mail address, such as name@example.org.')),
  givenName: name('given name'),
  familyName: name('family name'),
  roles: z
    .array(z.enum(roles))
    .min(1, 'Choose at least one role.')
    .refine(fitsTogether, onlyContact)
    .transform((chosen) => roles.filter((role) => chosen.includes(role))),
  teamId: z
    .uuid('Choose one of the teams.')
    .nullable()
    .optional()
    .describe('For a team’s contact: the one team they speak for.'),
});

export const personChanges = personInput.partial().extend({ active: z.boolean().optional() });

export const signInInput = z.object({
  email: exactText({ least: 1, most: 254, tooShort: 'Write your e-mail address.' }),
  password: exactText({ least: 1, most: 1024, tooShort: 'Write your password.' }),
});

export const linkToken = exactText({ least: 1, most: 100 });
export const typedPassword = exactText({ most: 1024 });
