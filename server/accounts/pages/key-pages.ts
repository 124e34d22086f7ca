import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { inTransaction } from '../../database/transaction.ts';
import { errorsOf, type Form, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { tokenInput } from '../api-token/token-input.ts';
import { type ApiToken, listTokens, makeToken, revokeToken } from '../api-token/token-store.ts';
import { policies, sessionOf } from '../policy.ts';
import { type StaffRole, staffRoles } from '../roles.ts';
import { keepNeeded, readNeeded } from '../second-factor/needed.ts';

const path = '/settings/keys';

/** What lets people and programs in: whether coordinators need a second factor, and the tokens for programs. */
export async function keyPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const forCoordinator = { config: { policy: policies.coordinator }, schema: { hide: true } } as const;

  const revoking = {
    config: { policy: policies.coordinator },
    schema: { hide: true, params: z.object({ tokenId: z.uuid() }) },
  } as const;

  const show = async (request: FastifyRequest, reply: FastifyReply, view: object = {}) => {
    const { conferenceId, personId, timeZone, roles } = sessionOf(request);
    const { needed, coordinators } = await readNeeded(pool, conferenceId);
    return reply.page(
      'accounts/keys',
      {
        needed,
        coordinators,
        without: coordinators.filter(({ since }) => since === null).length,
        hasOne: coordinators.some((one) => one.personId === personId && one.since !== null),
        tokens: (await listTokens(pool, conferenceId)).map((token) => ({
          ...token,
          tone: tones[token.state],
          works: token.state === 'works',
        })),
        roles: staffRoles
          .filter((role) => roles.has(role))
          .map((role) => ({ value: role, means: roleMeans[role] })),
        values: { days: '90' },
        errors: {},
        zone: timeZone,
        ...view,
      },
      { title: 'Keys' },
    );
  };

  app.get(path, forCoordinator, (request, reply) =>
    show(request, reply, { notice: done[textOf(formOf(request.query).done)] }),
  );

  app.post(`${path}/tokens`, forCoordinator, async (request, reply) => {
    const form: Form = formOf(request.body);
    const input = tokenInput.safeParse({
      name: form.name,
      role: form.role,
      readOnly: textOf(form.readOnly) === 'yes',
      days: textOf(form.days).trim() === '' ? undefined : Number(textOf(form.days)),
    });
    const again = (errors: object) => show(request, reply.code(400), { values: form, errors });
    if (!input.success) return again(errorsOf(input.error));
    try {
      const { token, kept } = await makeToken(pool, sessionOf(request), input.data);
      return reply.page(
        'accounts/token-made',
        { token, kept, zone: sessionOf(request).timeZone },
        { title: 'Token made', scripts: ['copy'] },
      );
    } catch (error) {
      return again(fieldErrors(error));
    }
  });

  app.post(`${path}/tokens/:tokenId/revoke`, revoking, async (request, reply) => {
    const { tokenId } = request.params as { tokenId: string };
    await revokeToken(pool, sessionOf(request), tokenId);
    return reply.redirect(`${path}?done=revoked#tokens`, 303);
  });

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

const tones: Record<ApiToken['state'], string> = {
  works: 'good',
  expired: '',
  revoked: '',
  'its maker lost the role': 'bad',
};

/** What a program may do in each role. */
const roleMeans: Record<StaffRole, string> = {
  coordinator: 'all of the conference’s games, reports, standings, letters and files',
  observer: 'your own games and reports',
  official: 'your own evaluation',
};

const done: Record<string, string> = {
  needed: 'Kept: coordinators need a second factor from now on.',
  revoked: 'Revoked: the token no longer works.',
  free: 'Kept: each coordinator chooses whether to have a second factor.',
};
