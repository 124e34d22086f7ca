import type { FastifyReply, FastifyRequest } from 'fastify';
import { makeLink } from '../account-link.ts';
import { hasSecondFactor } from '../second-factor/second-factor-store.ts';
import { signInAs } from '../sign-in-as.ts';

type Person = { conferenceId: string; personId: string };

/** Lets in who gave the right password, or asks for the code of their second factor first. */
export async function letIn(
  request: FastifyRequest,
  reply: FastifyReply,
  who: Person,
  next: string,
): Promise<FastifyReply> {
  const { pool } = request.server.database;
  if (!(await hasSecondFactor(pool, who))) {
    await signInAs(request, reply, who);
    return reply.redirect(next, 303);
  }
  const { token } = await makeLink(pool, who, 'second step');
  return secondStepPage(reply, { token, next });
}

export const secondStepPage = (
  reply: FastifyReply,
  view: { token: string; next: string; problem?: string; errors?: object },
): FastifyReply =>
  reply.page('accounts/second-step', { errors: {}, ...view }, { title: 'Second step', width: 'narrow' });
