import type { FastifyInstance } from 'fastify';
import { offerRoutes } from './offer-routes.ts';
import { offerPages } from './pages/offer-pages.ts';
import { ownOfferPages } from './pages/own-offer-pages.ts';

/** Chosen places are offered, and officials accept or decline. */
export async function offers(app: FastifyInstance): Promise<void> {
  await app.register(offerRoutes);
  await app.register(offerPages);
  await app.register(ownOfferPages);
}
