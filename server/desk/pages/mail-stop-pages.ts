import multipart from '@fastify/multipart';
import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies } from '../../accounts/policy.ts';
import { wantedChoices } from '../../accounts/wanted-choices.ts';
import { wantedWays } from '../../messages/kinds.ts';
import { readStopToken } from '../../messages/unsubscribe.ts';
import { keepWanted, readWanted } from '../../messages/wanted.ts';
import { exactText } from '../../text/typed-text.ts';
import { Problem } from '../../web/problem.ts';

/**
 * The link in every mail that can be stopped, signed and without sign-in. Opening it changes nothing, since scanners
 * open links too. A mail program's button posts `List-Unsubscribe=One-Click` (RFC 8058), as a form of either kind.
 */
export async function mailStopPages(app: FastifyInstance): Promise<void> {
  await app.register(multipart, {
    attachFieldsToBody: 'keyValues',
    limits: { files: 0, fields: 5, fieldSize: 200 },
  });
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.open };
  const params = z.object({ token: exactText({ least: 1, most: 200 }) });

  async function whoseMail(token: string) {
    const whose = await readStopToken(pool, token);
    const found = whose && (await readWanted(pool, whose));
    if (!whose || !found)
      throw new Problem(
        404,
        'This link does not work',
        'It may have been cut off in the mail: copy all of it. Signed in, you find the same choice on your account page.',
      );
    return { whose, ...found };
  }

  async function page(reply: FastifyReply, token: string, view: object) {
    const { wanted, email, conference } = await whoseMail(token);
    return reply.page(
      'desk/mail-stop',
      { token, email, conference, choices: wantedChoices(wanted), ...view },
      { title: 'E-mail', width: 'narrow' },
    );
  }

  pages.get('/mail/:token', { config, schema: { hide: true, params } }, (request, reply) =>
    page(reply, request.params.token, {}),
  );

  pages.post(
    '/mail/:token',
    {
      config,
      schema: {
        hide: true,
        params,
        body: z
          .object({ 'List-Unsubscribe': z.string(), wanted: z.enum(wantedWays) })
          .partial()
          .nullish(),
      },
    },
    async (request, reply) => {
      const { token } = request.params;
      const { whose } = await whoseMail(token);
      const oneClick = request.body?.['List-Unsubscribe'] === 'One-Click';
      const wanted = oneClick ? 'none' : request.body?.wanted;
      if (wanted === undefined) return page(reply.code(400), token, { problem: 'Choose one of the three.' });
      await keepWanted(pool, whose, wanted);
      app.outbox.wake();
      return page(reply, token, { kept: true });
    },
  );
}
