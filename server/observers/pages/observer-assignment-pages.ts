import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { notFound } from '../../web/problem.ts';
import { changeAssignments, lockAssignment } from '../stores/assignment-store.ts';
import { seasonReader } from './season-reader.ts';

/** An assignment taken back, locked and unlocked. */
export async function observerAssignmentPages(plain: FastifyInstance): Promise<void> {
  const app = plain.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const { season, load } = seasonReader(app);

  const assignment = z.object({ assignmentId: z.uuid() });
  app.post(
    '/observers/assignments/:assignmentId/withdraw',
    { config, schema: { hide: true, params: assignment } },
    async (request, reply) => {
      let week = 0;
      await changeAssignments(pool, sessionOf(request), await season(request), (material) => {
        const found = material.assignments.find((one) => one.id === request.params.assignmentId);
        const game = material.games.find((one) => one.id === found?.gameId);
        if (!found || !game) throw notFound('assignment');
        week = game.week;
        return { withdraw: [found], offer: [] };
      });
      return reply.redirect(
        `/observers/weeks/${week}?done=${encodeURIComponent('The assignment was taken back.')}`,
        303,
      );
    },
  );
  for (const [verb, locked] of [
    ['lock', true],
    ['unlock', false],
  ] as const)
    app.post(
      `/observers/assignments/:assignmentId/${verb}`,
      { config, schema: { hide: true, params: assignment } },
      async (request, reply) => {
        const { gameId } = await lockAssignment(
          pool,
          sessionOf(request),
          request.params.assignmentId,
          locked,
        );
        const material = await load(request);
        const game = material.games.find((one) => one.id === gameId);
        return reply.redirect(`/observers/weeks/${game?.week ?? ''}`, 303);
      },
    );
}
