import type { FastifyRequest } from 'fastify';

/**
 * The address that links begin with. Without PUBLIC_URL no proxy is trusted: then it is what this request's user has in
 * the browser's address line, shown to nobody but them.
 */
const publicAddress = (request: FastifyRequest) =>
  (request.server.settings.PUBLIC_URL ?? `${request.protocol}://${request.host}`).replace(/\/$/, '');

export const linkAddress = (request: FastifyRequest, purpose: 'invitation' | 'reset', token: string) =>
  `${publicAddress(request)}/${purpose === 'invitation' ? 'invitation' : 'new-password'}/${token}`;
