import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { backTo } from '../../accounts/next-address.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { kinds } from '../../messages/kinds.ts';
import { letBe, mailAgain, refusedAddresses, troubledMail } from '../../messages/mail-trouble.ts';
import { messageText } from '../../messages/message-text.ts';
import { typedText } from '../../text/typed-text.ts';

/** A season's mails at most, so that a mail server that is down is all on one page. */
const most = 500;

/** Mail that did not leave, for the coordinator: why, when it is tried again, and sending it again by hand. */
export async function mailTroublePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  pages.get(
    '/mail-trouble',
    {
      config,
      schema: { hide: true, querystring: z.object({ done: typedText({ most: 200 }).optional() }) },
    },
    async (request, reply) => {
      const { conferenceId, conferenceName, timeZone } = sessionOf(request);
      const mails = (await troubledMail(pool, conferenceId, most)).map((mail) => ({
        ...mail,
        subject: messageText(mail.kind, { conference: conferenceName, timeZone, ...mail, ...mail.facts })
          .subject,
      }));
      return reply.page(
        'desk/mail-trouble',
        {
          failed: mails.filter(({ nextAttempt }) => nextAttempt === null),
          waiting: mails.filter(({ nextAttempt }) => nextAttempt !== null),
          refused: await refusedAddresses(pool, conferenceId),
          zone: timeZone,
          mail: app.settings.SMTP_URL !== undefined,
          done: request.query.done,
        },
        { title: 'Mail that did not leave', width: 'wide' },
      );
    },
  );

  const body = z.object({
    messageId: z.uuid().optional(),
    kind: z.enum(kinds).optional(),
    next: typedText({ most: 200 }).optional(),
  });

  /** One, all of a kind that failed, or all that did not leave. */
  async function chosen(conferenceId: string, form: z.infer<typeof body>): Promise<string[]> {
    if (form.messageId) return [form.messageId];
    return (await troubledMail(pool, conferenceId, 10_000))
      .filter(({ kind, nextAttempt }) => !form.kind || (kind === form.kind && nextAttempt === null))
      .map(({ id }) => id);
  }

  for (const { path, act, said } of [
    { path: 'again', act: mailAgain, said: 'on the way again' },
    { path: 'let-be', act: letBe, said: 'left on the desk only' },
  ])
    pages.post(`/mail-trouble/${path}`, { config, schema: { hide: true, body } }, async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const count = await act(pool, conferenceId, await chosen(conferenceId, request.body));
      app.outbox.wake();
      const words = `${count} ${count === 1 ? 'mail' : 'mails'} ${said}.`;
      return reply.redirect(backTo(request.body, `/mail-trouble?done=${encodeURIComponent(words)}`), 303);
    });
}
