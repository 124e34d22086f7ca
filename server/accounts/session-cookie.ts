import type { FastifyReply, FastifyRequest } from 'fastify';
import { idleLifetime } from './session.ts';

/**
 * Over TLS the cookie's name starts with "__Host-", by which a browser itself makes sure that it is Secure, for this
 * host only, and was not set by a neighbouring subdomain (RFC 6265bis, section 4.1.3.2).
 */
export const cookieName = (request: FastifyRequest, of: 'session' | 'device' | 'written') =>
  request.protocol === 'https' ? `__Host-crewmark_${of}` : `crewmark_${of}`;
const name = (request: FastifyRequest) => cookieName(request, 'session');

export const sessionToken = (request: FastifyRequest): string | undefined => request.cookies[name(request)];

export function setSessionCookie(
  request: FastifyRequest,
  reply: FastifyReply,
  token: string,
  until = new Date(Date.now() + idleLifetime * 1000),
): void {
  reply.setCookie(name(request), token, {
    path: '/',
    httpOnly: true,
    sameSite: 'lax',
    secure: request.protocol === 'https',
    expires: until,
  });
}

export function clearSessionCookie(request: FastifyRequest, reply: FastifyReply): void {
  reply.clearCookie(name(request), {
    path: '/',
    httpOnly: true,
    sameSite: 'lax',
    secure: request.protocol === 'https',
  });
}
