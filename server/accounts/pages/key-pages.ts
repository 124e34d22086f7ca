import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { inTransaction } from '../../database/transaction.ts';
import { formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { policies, sessionOf } from '../policy.ts';
import { keepNeeded, readNeeded } from '../second-factor/needed.ts';

const path = '/settings/keys';

/** What lets people and programs in: whether coordinators need a second factor. */
export async function keyPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const forCoordinator = { config: { policy: policies.coordinator }, schema: { hide: true } } as const;

  const show = async (request: FastifyRequest, reply: FastifyReply, view: object = {}) => {
    const { conferenceId, personId, timeZone } = sessionOf(request);
    const { needed, coordinators } = await readNeeded(pool, conferenceId);
    return reply.page(
      'accounts/keys',
      {
        needed,
        coordinators,
        without: coordinators.filter(({ since }) => since === null).length,
        hasOne: coordinators.some((one) => one.personId === personId && one.since !== null),
        zone: timeZone,
        ...view,
      },
      { title: 'Keys' },
    );
  };

  app.get(path, forCoordinator, (request, reply) =>
    show(request, reply, { notice: done[textOf(formOf(request.query).done)] }),
  );

  app.post(`${path}/second-factor`, forCoordinator, async (request, reply) => {
    const needed = textOf(formOf(request.body).needed);
    if (needed !== 'yes' && needed !== 'no') {
      return show(request, reply.code(400), { problem: 'Choose whether coordinators need a second factor.' });
    }
    try {
      await inTransaction(pool, (client) => keepNeeded(client, sessionOf(request), needed === 'yes'));
    } catch (error) {
      if (!(error instanceof Problem) || error.status !== 409) throw error;
      return show(request, reply.code(409), { problem: error.message });
    }
    return reply.redirect(`${path}?done=${needed === 'yes' ? 'needed' : 'free'}`, 303);
  });
}

const done: Record<string, string> = {
  needed: 'Kept: coordinators need a second factor from now on.',
  free: 'Kept: each coordinator chooses whether to have a second factor.',
};
