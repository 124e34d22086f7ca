import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies } from '../../accounts/policy.ts';
import { playSchema } from '../../football/play.ts';
import { positions } from '../../football/positions.ts';
import { typedText } from '../../text/typed-text.ts';
import { reviseReport } from '../filing/revisions.ts';
import { stepsOf } from '../step.ts';
import { correctPlay, removeLoggedPlay } from './corrections.ts';
import { consequenceSchema, findingSchema, id, reasonSchema, reportAddress, tags } from './review-schemas.ts';

const correctionSchema = z.union([
  z.strictObject({ markId: id, remove: z.literal(true) }),
  z.strictObject({
    markId: id,
    finding: findingSchema,
    comment: typedText({ most: 4000 }),
    consequence: consequenceSchema.default(null),
  }),
]);

const recountedSchema = z.object({
  recounted: z.array(
    z.object({
      reportId: z.string(),
      observer: z.string(),
      state: z.string(),
      before: z.int(),
      after: z.int(),
      differences: z
        .array(
          z.object({
            position: z.enum(positions),
            dutyKey: z.string(),
            before: z.int(),
            after: z.int(),
          }),
        )
        .readonly(),
    }),
  ),
});

/** Corrections after filing: marks of a released report, plays of a game whose reports are counted again. */
export async function correctionRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const step = stepsOf(app);

  routes.post(
    '/api/reports/:reportId/revisions',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Correct a released report: a new revision, with its reason',
        params: reportAddress,
        body: z.strictObject({
          reason: reasonSchema,
          corrections: z.array(correctionSchema).min(1).max(200),
        }),
        response: { 200: z.object({ revision: z.int() }) },
      },
    },
    async (request) => {
      const { reason, corrections } = request.body;
      const revision = await step(request, (client, acting) =>
        reviseReport(client, acting, request.params.reportId, reason, corrections),
      );
      return { revision };
    },
  );

  routes.post(
    '/api/games/:gameId/plays/:playId/corrections',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Correct a play of a game whose reports are filed; they are counted again',
        params: z.object({ gameId: id, playId: id }),
        body: z.strictObject({ play: playSchema, reason: reasonSchema }),
        response: { 200: recountedSchema },
      },
    },
    async (request) => {
      const { gameId, playId } = request.params;
      const { play, reason } = request.body;
      const recounted = await step(request, (client, acting) =>
        correctPlay(client, acting, gameId, playId, play, reason),
      );
      return { recounted };
    },
  );

  routes.post(
    '/api/games/:gameId/plays/:playId/removal',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Remove a play that never was; marks on it go only when marksToo says so',
        params: z.object({ gameId: id, playId: id }),
        body: z.strictObject({ reason: reasonSchema, marksToo: z.boolean().default(false) }),
        response: { 200: recountedSchema },
      },
    },
    async (request) => {
      const { gameId, playId } = request.params;
      const recounted = await step(request, (client, acting) =>
        removeLoggedPlay(client, acting, gameId, playId, request.body),
      );
      return { recounted };
    },
  );
}
