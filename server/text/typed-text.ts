import { z } from 'zod';
import { textFault } from './keepable.ts';

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
