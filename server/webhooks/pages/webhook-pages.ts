import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { backTo } from '../../accounts/next-address.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { typedText } from '../../text/typed-text.ts';
import { errorsOf, type Form, fieldErrors, formOf, listOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { daysKept, listDeliveries, noteTest, sendAgain, settleGivenUp } from '../delivery-store.ts';
import { events, titleOf } from '../events.ts';
import { webhookInput } from '../webhook-input.ts';
import {
  changeWebhook,
  daysOfEarlier,
  findWebhook,
  listWebhooks,
  makeWebhook,
  removeWebhook,
  replaceSecret,
  type Webhook,
} from '../webhook-store.ts';

const path = '/settings/webhooks';
/** Deliveries on one page. */
const most = 100;
/** How long a page that sent something waits to show how it ended. */
const patience = 2000;

/** Addresses that are told of a conference's events: added, changed, tried, paused, removed; and what was sent. */
export async function webhookPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const hidden = { config, schema: { hide: true } } as const;
  const ofOne = { config, schema: { hide: true, params: z.object({ webhookId: z.uuid() }) } } as const;
  const input = webhookInput(app.settings.WEBHOOKS_TO_LOOPBACK);
  const typed = (form: Form) => input.safeParse({ address: form.address, events: listOf(form.events) });

  async function showList(request: FastifyRequest, reply: FastifyReply, view: object = {}, form: Form = {}) {
    const { conferenceId, timeZone } = sessionOf(request);
    const webhooks = await listWebhooks(pool, conferenceId);
    return reply.page(
      'webhooks/list',
      {
        webhooks: webhooks.map((one) => ({ ...one, ...inWords(one) })),
        ...{ values: form, choices: choicesOf(listOf(form.events)), errors: {}, zone: timeZone, ...view },
      },
      { title: 'Webhooks' },
    );
  }

  async function showOne(
    request: FastifyRequest,
    reply: FastifyReply,
    webhookId: string,
    view: object = {},
    form?: Form,
  ) {
    const { conferenceId, timeZone } = sessionOf(request);
    const webhook = await findWebhook(pool, conferenceId, webhookId);
    const deliveries = await listDeliveries(pool, conferenceId, webhookId, most);
    return reply.page(
      'webhooks/webhook',
      {
        webhook: { ...webhook, ...inWords(webhook) },
        deliveries: deliveries.map((one) => ({
          ...one,
          title: titleOf(one.event),
          // One that is paused is sent nothing; what has not been tried yet is in line anyway.
          mayBeSent: one.attempts > 0 && webhook.state === 'works',
          tone: { waiting: one.error ? 'warn' : '', delivered: 'good', 'given up': 'bad', 'let be': '' }[
            one.state
          ],
        })),
        values: form ?? webhook,
        choices: choicesOf(form ? listOf(form.events) : webhook.events),
        ...{ errors: {}, zone: timeZone, daysKept, daysOfEarlier, most, isFull: deliveries.length === most },
        ...view,
      },
      { title: `Webhook to ${new URL(webhook.address).host}`, width: 'wide' },
    );
  }

  /** Shown once, by the answer itself: it is in no address and in no page that can be opened again. */
  const showSecret = (reply: FastifyReply, webhook: Webhook, secret: string, zone: string, isNew: boolean) =>
    reply.page(
      'webhooks/secret',
      { webhook, secret, zone, isNew, daysOfEarlier },
      { title: 'Secret of the webhook', scripts: ['copy'] },
    );

  /** So that most often the page shows at once whether it arrived. */
  async function sent(): Promise<void> {
    app.webhooks.wake();
    let timer: NodeJS.Timeout | undefined;
    const enough = new Promise<void>((resolve) => {
      timer = setTimeout(resolve, patience);
    });
    await Promise.race([app.webhooks.idle(), enough]).finally(() => clearTimeout(timer));
  }

  pages.get(path, hidden, (request, reply) =>
    showList(request, reply, { notice: done[textOf(formOf(request.query).done)] }),
  );

  pages.post(path, hidden, async (request, reply) => {
    const form = formOf(request.body);
    const parsed = typed(form);
    if (!parsed.success) return showList(request, reply.code(400), { errors: errorsOf(parsed.error) }, form);
    try {
      const { webhook, secret } = await makeWebhook(pool, sessionOf(request), parsed.data);
      return showSecret(reply, webhook, secret, sessionOf(request).timeZone, true);
    } catch (error) {
      if (error instanceof Problem && error.status === 409)
        return showList(request, reply.code(409), { problem: error.message }, form);
      return showList(request, reply.code(400), { errors: fieldErrors(error) }, form);
    }
  });

  pages.get(`${path}/:webhookId`, ofOne, (request, reply) =>
    showOne(request, reply, request.params.webhookId, { notice: done[textOf(formOf(request.query).done)] }),
  );

  pages.post(`${path}/:webhookId`, ofOne, async (request, reply) => {
    const { webhookId } = request.params;
    const form = formOf(request.body);
    const parsed = typed(form);
    const again = (errors: object) => showOne(request, reply.code(400), webhookId, { errors }, form);
    if (!parsed.success) return again(errorsOf(parsed.error));
    try {
      await changeWebhook(pool, sessionOf(request), webhookId, parsed.data);
    } catch (error) {
      return again(fieldErrors(error));
    }
    return reply.redirect(`${path}/${webhookId}?done=changed`, 303);
  });

  for (const { act, paused } of [
    { act: 'pause', paused: true },
    { act: 'go-on', paused: false },
  ])
    pages.post(`${path}/:webhookId/${act}`, ofOne, async (request, reply) => {
      const { webhookId } = request.params;
      await changeWebhook(pool, sessionOf(request), webhookId, { paused });
      if (!paused) await sent();
      return reply.redirect(`${path}/${webhookId}?done=${act}`, 303);
    });

  pages.post(`${path}/:webhookId/test`, ofOne, async (request, reply) => {
    const { webhookId } = request.params;
    try {
      await noteTest(pool, sessionOf(request), webhookId);
    } catch (error) {
      if (!(error instanceof Problem) || error.status !== 409) throw error;
      return showOne(request, reply.code(409), webhookId, { problem: error.message });
    }
    await sent();
    return reply.redirect(`${path}/${webhookId}?done=test#sent`, 303);
  });

  pages.post(`${path}/:webhookId/secret`, ofOne, async (request, reply) => {
    const session = sessionOf(request);
    const { secret, webhook } = await replaceSecret(pool, session, request.params.webhookId);
    return showSecret(reply, webhook, secret, session.timeZone, false);
  });

  pages.post(`${path}/:webhookId/remove`, ofOne, async (request, reply) => {
    await removeWebhook(pool, sessionOf(request), request.params.webhookId);
    return reply.redirect(`${path}?done=removed`, 303);
  });

  pages.post(
    `${path}/:webhookId/deliveries/:deliveryId/again`,
    {
      config,
      schema: { hide: true, params: z.object({ webhookId: z.uuid(), deliveryId: z.uuid() }) },
    },
    async (request, reply) => {
      const { webhookId, deliveryId } = request.params;
      await sendAgain(pool, sessionOf(request), webhookId, deliveryId);
      await sent();
      return reply.redirect(`${path}/${webhookId}?done=again#sent`, 303);
    },
  );

  for (const { act, how } of [
    { act: 'again', how: 'again' },
    { act: 'let-be', how: 'let be' },
  ] as const)
    pages.post(
      `${path}/:webhookId/${act}`,
      {
        config,
        schema: {
          hide: true,
          params: z.object({ webhookId: z.uuid() }),
          body: z.object({ next: typedText({ most: 200 }).optional() }),
        },
      },
      async (request, reply) => {
        const session = sessionOf(request);
        const { webhookId } = request.params;
        await findWebhook(pool, session.conferenceId, webhookId);
        await settleGivenUp(pool, session, webhookId, how);
        app.webhooks.wake();
        return reply.redirect(backTo(request.body, `${path}/${webhookId}?done=${act}#sent`), 303);
      },
    );
}

const choicesOf = (chosen: readonly string[]) =>
  Object.entries(events).map(([name, { title, means }]) => ({
    ...{ name, title, means, chosen: chosen.includes(name) },
  }));

const inWords = ({ address, events: named, state, givenUp }: Webhook) => ({
  host: new URL(address).host,
  titles: named.map(titleOf).join(', '),
  isPaused: state !== 'works',
  isGone: state === 'gone',
  stateWords: { works: givenUp > 0 ? 'in trouble' : 'works', paused: 'paused', gone: 'gone, paused' }[state],
  tone: { works: givenUp > 0 ? 'bad' : 'good', paused: 'warn', gone: 'bad' }[state],
});

const done: Record<string, string> = {
  changed: 'Kept.',
  removed: 'Removed: nothing more is sent there.',
  pause: 'Paused: what happens waits, and is sent when it goes on.',
  'go-on': 'It goes on: what waited is on its way.',
  test: 'A test was sent; below is what came of it.',
  again: 'On the way again; below is what came of it.',
  'let-be': 'Left as they are: they are not sent.',
};
