import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

const webhook = {
  id: ids.webhook,
  address: 'https://www.conference.example/hooks/officiating',
  events: ['report.released', 'reply.ruled'],
  madeBy: 'Orla Fennimore',
  createdAt: '2026-08-01T16:00:00.000Z',
  state: 'works',
  earlierUntil: null,
  waiting: 0,
  givenUp: 0,
  lastDelivered: '2026-09-08T15:04:06.120Z',
};
const secret = 'whsec_Q3Jld21hcmsgZXhhbXBsZSBvZiBhIHNlY3JldC4uLjE=';
const delivery = {
  id: ids.delivery,
  event: 'report.released',
  happenedAt: '2026-09-14T18:30:00.000Z',
  state: 'waiting',
  attempts: 3,
  triedAt: '2026-09-14T18:32:41.000Z',
  nextTry: '2026-09-14T18:40:12.000Z',
  status: 503,
  error: 'It answered 503',
  answer: 'Back in a few minutes.',
};

/** Addresses that are told of events, and what was sent to them. */
export const webhooks: ExamplesByOperation = {
  getWebhooks: { answered: { 'One that works': [webhook] } },
  postWebhooks: {
    sent: { 'Of releases and rulings': { address: webhook.address, events: webhook.events } },
    answered: { 'With its secret, shown this once': { ...webhook, lastDelivered: null, secret } },
  },
  patchWebhooksByWebhookId: {
    sent: { Pause: { paused: true }, 'Of answers too': { events: [...webhook.events, 'reply.written'] } },
    answered: { Paused: { ...webhook, state: 'paused' } },
  },
  postWebhooksSecret: {
    answered: {
      'Both sign for three days': { ...webhook, earlierUntil: '2026-09-17T16:00:00.000Z', secret },
    },
  },
  postWebhooksTest: { answered: { 'On its way': { deliveryId: ids.delivery } } },
  getWebhooksDeliveries: { answered: { 'One that is tried again': [delivery] } },
  postWebhooksDeliveriesAgain: { answered: { 'On its way': { deliveryId: ids.delivery } } },
};
