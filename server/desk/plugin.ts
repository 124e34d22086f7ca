import type { FastifyInstance } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { type Desk, readDesk } from './desk.ts';

declare module 'fastify' {
  interface FastifyRequest {
    /** What waits for who asks for a page, in the season it is about; null where no page is asked for, or no season is. */
    desk: Desk | null;
  }
}

/** Reads for each page, and for each form that may be refused, what its menu counts; the desk shows the same. Register it after the season in view is known. */
export const deskPlugin = fastifyPlugin(async (app: FastifyInstance) => {
  app.decorateRequest('desk', null);
  app.addHook('onRequest', async (request) => {
    const { session, seasonsShown } = request;
    if (request.is404 || !session || !seasonsShown?.inView) return;
    request.desk = await readDesk(app.database.asking, session, seasonsShown.inView);
  });
});
