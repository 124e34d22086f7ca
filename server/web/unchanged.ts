import type { FastifyReply, FastifyRequest } from 'fastify';

/**
 * Names what is answered, and tells whether who asks has it already: then 304 is the answer (RFC 9110, sections 13.1.2 and
 * 8.8.3.2, the weak comparison).
 * @param tag in quotes, behind `W/` where the same is sent in several encodings
 */
export function unchanged(request: FastifyRequest, reply: FastifyReply, tag: string): boolean {
  reply.header('etag', tag);
  const asked = String(request.headers['if-none-match'] ?? '').split(',');
  return asked.some((one) => one.trim() === '*' || opaque(one) === opaque(tag));
}

const opaque = (tag: string) => tag.trim().replace(/^W\//, '');
