import { z } from 'zod';

/**
 * What no text here can hold: NUL, which the database cannot keep; halves of surrogate pairs, which are no characters;
 * and the other control characters, which print as nothing. Tabs and every kind of line break are text.
 */
// biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters that are refused
const unkeepable = /[\0-\x08\x0e-\x1f\x7f\p{Surrogate}]/u;

/** What is wrong with the characters of a text, as the end of a sentence about it; null when nothing is. */
export function textFault(text: string): string | null {
  const found = unkeepable.exec(text);
  if (!found) return null;
  return `has a character that cannot be kept (number ${[...text.slice(0, found.index)].length + 1}); delete it there`;
}

/** The text without what cannot be kept. */
export const keepable = (text: string): string => text.replace(new RegExp(unkeepable, 'gu'), '');

interface Typed {
  /** Longest length, in UTF-16 units as browsers count maxlength. */
  most: number;
  least?: number;
  /** Told when it is shorter than `least`. */
  tooShort?: string;
  /** Told when it is longer than `most`. */
  tooLong?: string;
}

/**
 * The schema of everything that people type: no character that cannot be kept, blanks at both ends dropped, not longer
 * than `most`. Also for ids and tokens that arrive as text.
 */
export const typedText = ({ most, least = 0, tooShort, tooLong }: Typed) =>
  ofLength(sound.trim(), most, least, tooShort, tooLong);

/** The same with its blanks kept: passwords, and what a device compares with what it sent. */
export const exactText = ({ most, least = 0, tooShort, tooLong }: Typed) =>
  ofLength(sound, most, least, tooShort, tooLong);

const sound = z.string().superRefine((text, context) => {
  const fault = textFault(text);
  if (fault) context.addIssue({ code: 'custom', message: fault });
});

function ofLength(
  text: z.ZodString,
  most: number,
  least: number,
  tooShort = least === 1 ? 'must not be empty' : `must have at least ${least} characters`,
  tooLong = `must have at most ${most} characters`,
) {
  const limited = text.max(most, tooLong);
  return least > 0 ? limited.min(least, tooShort) : limited;
}

/** A day of the calendar, such as 2031-09-06, of these centuries: the database knows no year 0. */
export const typedDay = (otherwise = 'must be a day such as 2031-09-06') =>
  z.iso.date(otherwise).refine((day) => day >= '1900' && day < '2200', otherwise);
