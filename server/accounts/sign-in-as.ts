import type { FastifyReply, FastifyRequest } from 'fastify';
import { endSession, findSession, type Session, startSession } from './session.ts';
import { sessionToken, setSessionCookie } from './session-cookie.ts';

/** Ends the session that the request came with, if any, and starts one for the person. */
export async function signInAs(
  request: FastifyRequest,
  reply: FastifyReply,
  who: { conferenceId: string; personId: string },
): Promise<Session> {
  const { pool } = request.server.database;
  const earlier = sessionToken(request);
  if (earlier) await endSession(pool, earlier);
  const token = await startSession(pool, who);
  setSessionCookie(request, reply, token);
  return (await findSession(pool, token))!.session;
}
