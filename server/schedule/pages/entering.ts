import type { FastifyRequest } from 'fastify';
import { type Form, formOf, textOf } from '../../web/form.ts';

// What the forms that add one thing after the other have in common.

/** "Keep and add another" was pressed. */
export const wantsAnother = (form: Form): boolean => textOf(form.next) === 'another';

/** What such a form says when it opens for the next one. */
export function addedNotice(request: FastifyRequest): string | undefined {
  const name = textOf(formOf(request.query).added).slice(0, 200);
  return request.method === 'GET' && name !== '' ? `Added: ${name}.` : undefined;
}
