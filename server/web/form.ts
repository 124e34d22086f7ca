import type { z } from 'zod';
import { capital } from './format.ts';
import { Problem } from './problem.ts';

/** What a form or query sends: text, or several texts of one name. */
export type Form = Record<string, string | string[] | undefined>;

/** The first thing wrong with each field, to be shown beside it. */
export type FormErrors = Record<string, string>;

export const formOf = (sent: unknown): Form =>
  typeof sent === 'object' && sent !== null ? (sent as Form) : {};

/** The field's text; of several the last, of none "". */
export const textOf = (value: string | string[] | undefined): string =>
  Array.isArray(value) ? (value.at(-1) ?? '') : (value ?? '');

/** The field's texts, for boxes of one name. */
export const listOf = (value: string | string[] | undefined): string[] =>
  value === undefined ? [] : [value].flat();

/** What the fields of a table's row show, to be sent along in a field that is not seen. */
export const rowAsShown = (values: object): string => JSON.stringify(values);

/** Whether they came back as they were shown: then they are nobody's change, and somebody else's meanwhile stays. */
export const isAsShown = (form: Form, field: string, values: object): boolean =>
  textOf(form[field]) === rowAsShown(values);

export function errorsOf(error: z.ZodError): FormErrors {
  const errors: FormErrors = {};
  for (const issue of error.issues) errors[String(issue.path[0])] ??= issue.message;
  return errors;
}

/** `errorsOf` without the field's name in front: the label beside the message gives it. */
export function errorsBesideLabels(error: z.ZodError): FormErrors {
  return Object.fromEntries(
    Object.entries(errorsOf(error)).map(([field, message]) => [
      field,
      capital(message.replace(`${field} `, '')),
    ]),
  );
}

/** A problem that names fields, as errors beside them; any other is thrown on, to the error page. */
export function fieldErrors(error: unknown): FormErrors {
  if (!(error instanceof Problem) || error.errors.length === 0) throw error;
  return Object.fromEntries(error.errors.map(({ field, message }) => [field, message]));
}
