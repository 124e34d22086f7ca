import type { FastifyInstance } from 'fastify';
import { Printer } from '../programs/outputs/printer.ts';
import { handlingRoutes } from './handling-routes.ts';
import { prepareAnswer } from './inquiry-messages.ts';
import { askPages } from './pages/ask-pages.ts';
import { handlingPages } from './pages/handling-pages.ts';
import { ownPages } from './pages/own-pages.ts';
import { privatePages } from './pages/private-pages.ts';
import { inquirySettingPages } from './pages/setting-pages.ts';
import { teamRoutes } from './team-routes.ts';

/** All of teams' inquiries: asked by a team's contact, answered by the coordinator with a letter. */
export async function teamInquiries(app: FastifyInstance): Promise<void> {
  const printer = new Printer();
  app.addHook('onClose', () => printer.close());
  app.outbox.prepare('inquiry answered', prepareAnswer);
  await app.register(teamRoutes);
  await app.register(handlingRoutes(printer));
  await app.register(ownPages);
  await app.register(askPages);
  await app.register(handlingPages(printer));
  await app.register(privatePages);
  await app.register(inquirySettingPages);
}
