import type { FastifyInstance } from 'fastify';
import { Printer } from '../../programs/outputs/printer.ts';
import { recordPages } from './record-pages.ts';
import { recordRoutes } from './record-routes.ts';

/** The record of a selection that another committee could audit, and the closing that writes it. */
export async function selectionRecord(app: FastifyInstance): Promise<void> {
  const printer = new Printer();
  app.addHook('onClose', () => printer.close());
  await app.register(recordRoutes(printer));
  await app.register(recordPages(printer));
}
