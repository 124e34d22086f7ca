import type { FastifyInstance } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { countUnread } from '../messages/inbox.ts';
import { type Desk, readDesk } from './desk.ts';

declare module 'fastify' {
  interface FastifyRequest {
    /** What waits for who asks for a page, in the season it is about; null where no page is asked for, or no season is. */
    desk: Desk | null;
    /** How many messages who asks for a page has not read. */
    unread: number;
  }
}

/** Reads for each page, and for each form that may be refused, what its menu counts; the desk shows the same. Register it after the season in view is known. */
export const deskPlugin = fastifyPlugin(async (app: FastifyInstance) => {
  app.decorateRequest('desk', null);
  app.decorateRequest('unread', 0);
  app.addHook('onRequest', async (request) => {
    const { session, seasonsShown } = request;
    if (request.is404 || !session) return;
    const { asking } = app.database;
    const inView = seasonsShown?.inView;
    [request.unread, request.desk] = await Promise.all([
      countUnread(asking, session),
      inView ? readDesk(asking, session, inView) : null,
    ]);
  });
});
