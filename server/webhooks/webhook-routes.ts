import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { deliveryStates, listDeliveries, noteTest, sendAgain } from './delivery-store.ts';
import { eventNames, testEvent } from './events.ts';
import { webhookInput } from './webhook-input.ts';
import {
  changeWebhook,
  daysOfEarlier,
  findWebhook,
  listWebhooks,
  makeWebhook,
  removeWebhook,
  replaceSecret,
} from './webhook-store.ts';

const webhook = z.object({
  id: z.uuid(),
  address: z.string(),
  events: z.array(z.enum(eventNames)),
  madeBy: z.string(),
  createdAt: z.date(),
  state: z.enum(['works', 'paused', 'gone']).describe('`gone`: it answered 410 and was paused for that.'),
  earlierUntil: z.date().nullable().describe('Until when the secret before this one signs too.'),
  waiting: z.int().describe('Deliveries that are to be tried.'),
  givenUp: z.int().describe('Deliveries that are tried no more.'),
  lastDelivered: z.date().nullable(),
});
const withSecret = webhook.extend({
  secret: z.string().describe('Shown this once. Bodies are signed with it, HMAC-SHA256.'),
});
const delivery = z.object({
  id: z.uuid().describe('Sent as webhook-id, the same at every try.'),
  event: z.enum([...eventNames, testEvent]),
  happenedAt: z.date(),
  state: z.enum(deliveryStates),
  attempts: z.int().describe('Tries since it was last put in line.'),
  triedAt: z.date().nullable(),
  nextTry: z.date().nullable(),
  status: z.int().nullable().describe('The status code answered to the last try.'),
  error: z.string().nullable().describe('What went wrong at the last try.'),
  answer: z.string().nullable().describe('The beginning of what was answered then, 200 characters at most.'),
});

/** Addresses that are told of a conference's events, and what was sent to them. */
export async function webhookRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const tags = ['webhooks'];
  const input = webhookInput(app.settings.WEBHOOKS_TO_LOOPBACK);
  const ofWebhook = z.object({ webhookId: z.uuid() });
  const path = '/api/webhooks/:webhookId';

  routes.get(
    '/api/webhooks',
    {
      config,
      schema: {
        ...{ tags, summary: 'The addresses that are told of events' },
        response: { 200: z.array(webhook) },
      },
    },
    (request) => listWebhooks(pool, sessionOf(request).conferenceId),
  );

  routes.post(
    '/api/webhooks',
    {
      config,
      schema: {
        ...{ tags, summary: 'Add an address that is told of events', body: input },
        response: { 201: withSecret },
      },
    },
    async (request, reply) => {
      const made = await makeWebhook(pool, sessionOf(request), request.body);
      return reply.code(201).send({ ...made.webhook, secret: made.secret });
    },
  );

  routes.patch(
    path,
    {
      config,
      schema: {
        tags,
        summary: 'Change an address or its events; pause it, or let it go on',
        params: ofWebhook,
        body: input.partial().extend({
          paused: z.boolean().optional().describe('True: what happens waits, and is sent when it goes on.'),
        }),
        response: { 200: webhook },
      },
    },
    async (request) => {
      const changed = await changeWebhook(pool, sessionOf(request), request.params.webhookId, request.body);
      app.webhooks.wake();
      return changed;
    },
  );

  routes.delete(
    path,
    {
      config,
      schema: {
        ...{ tags, summary: 'Remove an address, with what waits for it', params: ofWebhook },
        response: { 204: z.null() },
      },
    },
    async (request, reply) => {
      await removeWebhook(pool, sessionOf(request), request.params.webhookId);
      return reply.code(204).send(null);
    },
  );

  routes.post(
    `${path}/secret`,
    {
      config,
      schema: {
        tags,
        summary: 'Replace the secret',
        description: `Bodies are signed with both for ${daysOfEarlier} days.`,
        params: ofWebhook,
        response: { 200: withSecret },
      },
    },
    async (request) => {
      const made = await replaceSecret(pool, sessionOf(request), request.params.webhookId);
      return { ...made.webhook, secret: made.secret };
    },
  );

  routes.post(
    `${path}/test`,
    {
      config,
      schema: {
        tags,
        summary: 'Send a test, tried once',
        params: ofWebhook,
        response: { 202: z.object({ deliveryId: z.uuid() }) },
      },
    },
    async (request, reply) => {
      const noted = await noteTest(pool, sessionOf(request), request.params.webhookId);
      app.webhooks.wake();
      return reply.code(202).send(noted);
    },
  );

  routes.get(
    `${path}/deliveries`,
    {
      config,
      schema: {
        tags,
        summary: 'What was sent to an address, or is to be: what was given up, then the newest',
        params: ofWebhook,
        querystring: z.object({ limit: z.coerce.number().int().min(1).max(1000).default(100) }),
        response: { 200: z.array(delivery) },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      const { id } = await findWebhook(pool, conferenceId, request.params.webhookId);
      return listDeliveries(pool, conferenceId, id, request.query.limit);
    },
  );

  routes.post(
    `${path}/deliveries/:deliveryId/again`,
    {
      config,
      schema: {
        tags,
        summary: 'Send a delivery again, with all its tries',
        params: ofWebhook.extend({ deliveryId: z.uuid() }),
        response: { 202: z.object({ deliveryId: z.uuid() }) },
      },
    },
    async (request, reply) => {
      const { webhookId, deliveryId } = request.params;
      await sendAgain(pool, sessionOf(request), webhookId, deliveryId);
      app.webhooks.wake();
      return reply.code(202).send({ deliveryId });
    },
  );
}
