import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { typedText } from '../../text/typed-text.ts';
import { stepsOf } from '../step.ts';
import { releasedMarksAbout } from './mark-lines.ts';
import { ruleOnReply, writeReply } from './replies.ts';
import { tellOfClosingWindows } from './reply-messages.ts';
import { keepReplyWindow, replyWindow, replyWindowSchema } from './reply-window.ts';
import { consequenceSchema, findingSchema, id, markSchema, moment, tags } from './review-schemas.ts';
import { settingRoutes } from './setting-routes.ts';

const rulingSchema = z.discriminatedUnion('ruling', [
  z.strictObject({ ruling: z.literal('stands'), note: typedText({ most: 4000 }).default('') }),
  z.strictObject({ ruling: z.literal('withdrawn'), note: typedText({ most: 4000 }).default('') }),
  z.strictObject({
    ruling: z.literal('changed'),
    changedTo: findingSchema,
    consequence: consequenceSchema.default(null),
    note: typedText({ most: 4000 }).default(''),
  }),
]);

const replyTextSchema = typedText({ least: 1, most: 4000, tooShort: 'write your answer' });

const done = z.object({ done: z.literal(true) });

/** Officials’ answers to their marks, the time they have for them, and the rulings. */
export async function replyRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const step = stepsOf(app);
  app.outbox.alsoWrites(tellOfClosingWindows);

  routes.get(
    '/api/my/marks',
    {
      config: { policy: policies.official },
      schema: {
        tags,
        summary: 'The marks about me in released reports',
        response: {
          200: z.array(
            markSchema.extend({
              week: z.int(),
              game: z.string(),
              replyUntil: moment,
              replyId: z.string().nullable(),
            }),
          ),
        },
      },
    },
    (request) => {
      const { conferenceId, personId } = sessionOf(request);
      return releasedMarksAbout(pool, conferenceId, personId);
    },
  );

  routes.post(
    '/api/observations/:observationId/reply',
    {
      config: { policy: policies.releasedObservationAboutMe },
      schema: {
        tags,
        summary: 'Answer a mark about me, within the conference’s window',
        params: z.object({ observationId: id }),
        body: z.strictObject({ text: replyTextSchema }),
        response: { 200: z.object({ replyId: z.string() }) },
      },
    },
    async (request) => {
      const replyId = await step(request, (client, acting) =>
        writeReply(client, acting, request.params.observationId, request.body.text),
      );
      return { replyId };
    },
  );

  settingRoutes(app, '/api/reply-window', {
    schema: replyWindowSchema,
    tells: 'For how many days after a release officials may answer',
    sets: 'Set for how many days officials may answer reports released from now on',
    read: replyWindow,
    keep: keepReplyWindow,
  });

  routes.post(
    '/api/replies/:replyId/ruling',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Rule on a reply: the mark stands, is changed or is withdrawn',
        params: z.object({ replyId: id }),
        body: rulingSchema,
        response: { 200: done },
      },
    },
    async (request) => {
      await step(request, (client, acting) =>
        ruleOnReply(client, acting, request.params.replyId, request.body),
      );
      return { done: true as const };
    },
  );
}
