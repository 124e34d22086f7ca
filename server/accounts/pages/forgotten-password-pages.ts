import type { FastifyInstance, FastifyReply } from 'fastify';
import { z } from 'zod';
import { errorsOf, formOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { askForNewPassword } from '../forgotten-password.ts';
import { countForgotten } from '../forgotten-password-limit.ts';
import { personInput } from '../input.ts';
import { policies } from '../policy.ts';

const path = '/forgotten-password';
const config = { config: { policy: policies.open }, schema: { hide: true } } as const;
const input = z.object({ email: personInput.shape.email });

/** Asking for a link by mail. The answer is the same whether anybody has the address. */
export async function forgottenPasswordPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const mail = app.settings.SMTP_URL !== undefined;

  const page = (reply: FastifyReply, view: object) =>
    reply.page(
      'accounts/forgotten-password',
      { mail, values: {}, errors: {}, ...view },
      { title: 'Forgotten password', width: 'narrow' },
    );

  app.get(path, config, async (_request, reply) => page(reply, {}));

  app.post(path, config, async (request, reply) => {
    const typed = textOf(formOf(request.body).email);
    if (!mail) return page(reply.code(409), {});
    const parsed = input.safeParse({ email: typed });
    if (!parsed.success)
      return page(reply.code(400), { values: { email: typed }, errors: errorsOf(parsed.error) });
    const { email } = parsed.data;
    try {
      await countForgotten(pool, email, request.ip);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      return page(reply.code(error.status).headers(error.headers), {
        values: { email },
        problem: error.message,
      });
    }
    await askForNewPassword(pool, email);
    app.outbox.wake();
    return page(reply, { asked: email });
  });
}
