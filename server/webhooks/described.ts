import { z } from 'zod';
import { bodySchema, events, type SentEvent, testEvent } from './events.ts';

const header = (name: string, description: string, example: string) => ({
  ...{ name, in: 'header', required: true, description },
  ...{ schema: { type: 'string' }, example },
});

const id = '018f0000-0000-4000-8000-000000000001';
const exampleOf = (event: SentEvent) => ({
  type: event,
  timestamp: '2031-09-08T15:04:05.678Z',
  data:
    event === testEvent
      ? { conferenceId: id, page: `https://grades.example.org/settings/webhooks/${id}` }
      : {
          ...{ conferenceId: id, seasonId: id, gameId: id, reportId: id },
          ...(event === 'report.released' ? {} : { replyId: id }),
          page: `https://grades.example.org/${event === 'report.released' ? 'reports' : 'replies'}/${id}`,
          report: `https://grades.example.org/api/reports/${id}`,
        },
});

const operation = (event: SentEvent, summary: string, description: string) => ({
  post: {
    operationId: `on${event
      .split('.')
      .map((word) => word[0]!.toUpperCase() + word.slice(1))
      .join('')}`,
    tags: ['webhooks'],
    ...{ summary, description },
    security: [],
    parameters: [
      header('webhook-id', 'Of this event to this address, the same at every try.', id),
      header(
        'webhook-timestamp',
        'When it was sent, in seconds since 1970; refuse what is old.',
        '1946733845',
      ),
      header(
        'webhook-signature',
        'One signature or, while a secret is replaced, two, parted by a blank: `v1,` and the HMAC-SHA256, in base64, of webhook-id, a full stop, webhook-timestamp, a full stop and the body as it came. The key is what base64 makes of the secret after `whsec_` (Standard Webhooks 1.0.0).',
        'v1,K5oZfzN95Z9UVu1EsfQmfVNQhnkZ2pj9o9NDN/H/pI4=',
      ),
    ],
    requestBody: {
      required: true,
      content: {
        'application/json': {
          schema: withoutDialect(z.toJSONSchema(bodySchema(event))),
          example: exampleOf(event),
        },
      },
    },
    responses: {
      '2XX': { description: 'Taken. Answer within 10 seconds, and work on it afterwards.' },
      '410': {
        description: 'Nothing wants to be told here any more: the webhook is paused, and a coordinator told.',
      },
      '4XX': { description: 'Not taken; it is sent again for about three days.' },
      '5XX': {
        description: 'Not taken; it is sent again for about three days, not before what Retry-After says.',
      },
    },
  },
});

const withoutDialect = ({ $schema: _, ...schema }: Record<string, unknown>) => schema;

/** The `webhooks` of OpenAPI 3.1: what is sent, how it is signed, how to answer. */
export const describedWebhooks = {
  ...Object.fromEntries(
    Object.entries(events).map(([event, { title, means }]) => [
      event,
      operation(
        event as SentEvent,
        title,
        `${means} Sent are ids and links, never a mark, a grade, a name or a text. It may come twice, and in another order than things happened.`,
      ),
    ]),
  ),
  [testEvent]: operation(testEvent, 'Test', 'A coordinator sent it to try the address. It is tried once.'),
};
