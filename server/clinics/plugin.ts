import type { FastifyInstance } from 'fastify';
import { clinicRoutes } from './clinic-routes.ts';
import { clinicPages } from './pages/clinic-pages.ts';

/** Clinics that officials are asked to, and who was there. */
export async function clinics(app: FastifyInstance): Promise<void> {
  await app.register(clinicRoutes);
  await app.register(clinicPages);
}
