import type { FormErrors } from '../web/form.ts';
import { conflict, invalid, Problem } from '../web/problem.ts';
import { InquiryRefused } from './rules/states.ts';

/** Runs what may be refused; a refusal becomes a problem: 400 with its field, 409 without. */
export async function asProblem<Result>(work: () => Promise<Result>): Promise<Result> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof InquiryRefused)) throw error;
    throw error.field === null
      ? conflict(error.message)
      : invalid([{ field: error.field, message: error.message }]);
  }
}

/** What a page shows of a refusal: beside fields, or above the form. */
export interface Refused {
  readonly errors: FormErrors;
  readonly wrong: string | null;
}

/** Runs what may be refused. @returns null when it was done; anything but a refusal is thrown on */
export async function refusedOf(work: () => Promise<unknown>): Promise<Refused | null> {
  try {
    await work();
    return null;
  } catch (error) {
    if (error instanceof InquiryRefused)
      return error.field === null
        ? { errors: {}, wrong: error.message }
        : { errors: { [error.field]: error.message }, wrong: null };
    if (error instanceof Problem && [400, 409].includes(error.status))
      return {
        errors: Object.fromEntries(error.errors.map(({ field, message }) => [field, message])),
        wrong: error.errors.length === 0 ? error.message : null,
      };
    throw error;
  }
}
