import { z } from 'zod';
import { roles } from './roles.ts';

// What people may send, for the API and the pages alike. The messages are shown beside the field.

const name = (what: string) =>
  z.string().trim().min(1, `Write the ${what}.`).max(100, `Write the ${what} in at most 100 characters.`);

export const personInput = z.object({
  email: z
    .string()
    .trim()
    .toLowerCase()
    .max(254, 'An e-mail address has at most 254 characters.')
    .pipe(z.email('Write an e-mail address, such as name@example.org.')),
  givenName: name('given name'),
  familyName: name('family name'),
  roles: z
    .array(z.enum(roles))
    .min(1, 'Choose at least one role.')
    .transform((chosen) => roles.filter((role) => chosen.includes(role))),
});

export const personChanges = personInput.partial().extend({ active: z.boolean().optional() });

export const signInInput = z.object({
  email: z.string().min(1, 'Write your e-mail address.').max(254),
  password: z.string().min(1, 'Write your password.').max(1024),
});

export const linkToken = z.string().min(1).max(100);
export const typedPassword = z.string().max(1024);
