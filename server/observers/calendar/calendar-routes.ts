import { createHash } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies } from '../../accounts/policy.ts';
import { publicAddress } from '../../mail/mailer.ts';
import { exactText } from '../../text/typed-text.ts';
import { notFound } from '../../web/problem.ts';
import { unchanged } from '../../web/unchanged.ts';
import { feedOf, loadAssignments } from '../own-assignments.ts';
import { findCalendarOwner } from './secret-addresses.ts';

/** GET /calendar/TOKEN.ics: an observer's assignments for a calendar program, which cannot sign in. */
export async function calendarRoutes(plain: FastifyInstance): Promise<void> {
  const app = plain.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  app.get(
    '/calendar/:token.ics',
    {
      config: { policy: policies.open },
      schema: { hide: true, params: z.object({ token: exactText({ least: 20, most: 100 }) }) },
    },
    async (request, reply) => {
      const owner = await findCalendarOwner(pool, request.params.token);
      if (!owner) throw notFound('calendar');
      const assignments = await loadAssignments(pool, owner.conferenceId, owner.personId);
      const feed = feedOf(owner, assignments, {
        address: publicAddress(app.settings),
        from: app.settings.MAIL_FROM,
      });
      reply.type('text/calendar; charset=utf-8').header('cache-control', 'private, max-age=300');
      // Calendars ask for all of it several times a day, and it seldom changes. Weak: it is sent compressed or not.
      const tag = createHash('sha256').update(feed).digest('base64url').slice(0, 22);
      return unchanged(request, reply, `W/"${tag}"`) ? reply.code(304).send() : reply.send(feed);
    },
  );
}
