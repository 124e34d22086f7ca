import { z } from 'zod';

/** A whole number, also as a form sends it; what is wrong is said with the field's name. */
export const wholeNumber = (field: string, least: number, most: number) =>
  z.coerce
    .number(`${field} must be a whole number`)
    .int(`${field} must be a whole number`)
    .min(least, `${field} must be at least ${least}`)
    .max(most, `${field} must be at most ${most}`);
