import type { FastifyRequest } from 'fastify';

/** The address by which this request's user reaches the server; links begin with it. */
const publicAddress = (request: FastifyRequest) =>
  (request.server.settings.PUBLIC_URL ?? `${request.protocol}://${request.host}`).replace(/\/$/, '');

export const linkAddress = (request: FastifyRequest, purpose: 'invitation' | 'reset', token: string) =>
  `${publicAddress(request)}/${purpose === 'invitation' ? 'invitation' : 'new-password'}/${token}`;
