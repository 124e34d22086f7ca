import type { FastifyReply, FastifyRequest } from 'fastify';
import { rememberDevice } from './known-device.ts';
import { endSession, findSession, type Session, startSession } from './session.ts';
import { sessionToken, setSessionCookie } from './session-cookie.ts';

/** Ends the session that the request came with, if any, starts one for the person, and knows the device from now on. */
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
  await rememberDevice(pool, request, reply, who);
  return (await findSession(pool, token))!.session;
}
