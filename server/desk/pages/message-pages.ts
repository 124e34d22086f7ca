import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { backTo } from '../../accounts/next-address.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { countUnread, type InboxMessage, markRead, readInbox, readMessage } from '../../messages/inbox.ts';
import { wantedWays } from '../../messages/kinds.ts';
import { keepWanted, readWanted } from '../../messages/wanted.ts';
import { typedText } from '../../text/typed-text.ts';
import { notFound } from '../../web/problem.ts';
import { wholeNumber } from '../../web/whole-number.ts';
import { ageInWords } from '../age.ts';

const perPage = 30;
const id = z.uuid();

/** A person's messages, read and unread, and the API for both and for how they are mailed. */
export async function messagePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool, asking } = app.database;
  const config = { policy: policies.signedIn };

  pages.get(
    '/messages',
    {
      config,
      schema: {
        hide: true,
        querystring: z.object({
          show: z.enum(['unread', 'all']).default('all'),
          page: wholeNumber('page', 1, 10_000).default(1),
        }),
      },
    },
    async (request, reply) => {
      const { show, page } = request.query;
      const found = await readInbox(pool, sessionOf(request), {
        unread: show === 'unread',
        limit: perPage + 1,
        offset: (page - 1) * perPage,
      });
      const unread = await countUnread(asking, sessionOf(request));
      const at = (number: number) => `/messages?show=${show}&page=${number}`;
      return reply.page(
        'desk/messages',
        {
          messages: found.slice(0, perPage).map((message) => messageView(message, new Date())),
          onlyUnread: show === 'unread',
          unread,
          newer: page > 1 ? at(page - 1) : null,
          older: found.length > perPage ? at(page + 1) : null,
        },
        { title: 'Messages' },
      );
    },
  );

  /** Opening a message is reading it. */
  pages.get(
    '/messages/:messageId',
    { config, schema: { hide: true, params: z.object({ messageId: id }) } },
    async (request, reply) => {
      const { messageId } = request.params;
      const message = await readMessage(pool, sessionOf(request), messageId);
      if (!message) throw notFound('message');
      if (!message.read) await markRead(pool, sessionOf(request), messageId);
      return reply.page(
        'desk/message',
        { message: messageView(message, new Date()) },
        { title: message.subject },
      );
    },
  );

  pages.post(
    '/messages/read',
    { config, schema: { hide: true, body: z.object({ next: typedText({ most: 200 }).optional() }) } },
    async (request, reply) => {
      await markRead(pool, sessionOf(request), null);
      return reply.redirect(backTo(request.body, '/messages'), 303);
    },
  );

  const tags = ['messages'];
  const messageSchema = z.object({
    id,
    kind: z.string(),
    at: z.date(),
    read: z.boolean(),
    mail: z.enum(['sent', 'waiting', 'failed', 'not mailed']),
    subject: z.string(),
    text: z.string(),
  });
  pages.get(
    '/api/my/messages',
    {
      config,
      schema: {
        tags,
        summary: 'What I was told, the latest first',
        querystring: z.object({
          unread: z.enum(['true', 'false']).default('false'),
          page: wholeNumber('page', 1, 10_000).default(1),
        }),
        response: { 200: z.object({ unread: z.int(), messages: z.array(messageSchema) }) },
      },
    },
    async (request) => {
      const { unread, page } = request.query;
      const messages = await readInbox(pool, sessionOf(request), {
        unread: unread === 'true',
        limit: perPage,
        offset: (page - 1) * perPage,
      });
      return {
        unread: await countUnread(asking, sessionOf(request)),
        messages: messages.map(({ parts, ...message }) => ({
          ...message,
          text: parts
            .map((part) =>
              'paragraph' in part
                ? part.paragraph
                : 'rows' in part
                  ? part.rows.map(({ label, value }) => `${label}: ${value}`).join('\n')
                  : part.links.map(({ label, url }) => `${label}: ${url}`).join('\n'),
            )
            .join('\n\n'),
        })),
      };
    },
  );
  pages.post(
    '/api/my/messages/read',
    {
      config,
      schema: {
        tags,
        summary: 'Mark one of my messages as read, or all',
        body: z.strictObject({ messageId: id.nullable().default(null) }),
        response: { 200: z.object({ marked: z.int() }) },
      },
    },
    async (request) => ({ marked: await markRead(pool, sessionOf(request), request.body.messageId) }),
  );

  const wantedSchema = z.strictObject({ wanted: z.enum(wantedWays) });
  pages.get(
    '/api/my/mail',
    {
      config,
      schema: { tags, summary: 'How I am mailed: at once, daily, none', response: { 200: wantedSchema } },
    },
    async (request) => ({ wanted: (await readWanted(pool, sessionOf(request)))?.wanted ?? 'at once' }),
  );
  pages.put(
    '/api/my/mail',
    {
      config,
      schema: {
        tags,
        summary:
          'Say how I am mailed; invitations, links for a password and withdrawals are sent all the same',
        body: wantedSchema,
        response: { 200: wantedSchema },
      },
    },
    async (request) => {
      await keepWanted(pool, sessionOf(request), request.body.wanted);
      app.outbox.wake();
      return request.body;
    },
  );
}

/** A message as a list or its own page shows it. */
function messageView(message: InboxMessage, now: Date) {
  return {
    ...message,
    age: ageInWords(message.at, now),
    justNow: ageInWords(message.at, now) === 'just now',
    first: message.parts.flatMap((part) => ('paragraph' in part ? [part.paragraph] : []))[0] ?? '',
    parts: message.parts.map((part) => ({
      paragraph: 'paragraph' in part ? part.paragraph : null,
      rows: 'rows' in part ? part.rows : null,
      links: 'links' in part ? part.links : null,
    })),
  };
}

/** What somebody has not read yet, for their desk. */
export async function unreadForDesk(app: FastifyInstance, request: FastifyRequest) {
  const messages = await readInbox(app.database.pool, sessionOf(request), { unread: true, limit: 5 });
  const now = new Date();
  return messages.map((message) => messageView(message, now));
}
