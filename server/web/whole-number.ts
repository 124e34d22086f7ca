import { z } from 'zod';

/** The largest number that a column of type integer holds. */
export const largestInteger = 2_147_483_647;

/** A whole number, also as a form sends it; what is wrong is said with the field's name. */
export const wholeNumber = (field: string, least: number, most: number) =>
  z.coerce
    .number(`${field} must be a whole number`)
    .int(`${field} must be a whole number`)
    .min(least, `${field} must be at least ${least}`)
    .max(most, `${field} must be at most ${most}`);

/** The number of a version, revision or entry: 1 or more. */
export const numberOf = (field: string) => wholeNumber(field, 1, largestInteger);
