import type { FastifyReply } from 'fastify';
import { sessionOf } from '../../accounts/policy.ts';

/** The page in place of any other of a season, while the conference has none: what to do about it. */
export const noSeason = (reply: FastifyReply): FastifyReply =>
  reply.page(
    'schedule/no-season',
    { coordinator: sessionOf(reply.request).roles.has('coordinator') },
    { title: 'No season yet' },
  );
