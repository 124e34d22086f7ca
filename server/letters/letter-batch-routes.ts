import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { refuseUnknownSeasons } from '../schedule/seasons.ts';
import { typedDay } from '../text/typed-text.ts';
import { notFound } from '../web/problem.ts';
import { readLetterWithPdf } from './kept-letters.ts';
import { batchProgress, createBatch, retryFailed } from './letter-batches.ts';
import { letterKinds } from './letter-data.ts';
import { batchAddress, instant, papers, plain, seasonAddress, tags } from './letter-schemas.ts';
import { zipOfLetters } from './letters-zip.ts';

const jobState = z.enum(['waiting', 'made', 'unchanged', 'failed']);
const progressSchema = z.object({
  id: z.uuid(),
  seasonId: z.uuid(),
  kind: z.enum(letterKinds),
  paper: z.enum(papers),
  issuedOn: z.string(),
  replyBy: z.string().nullable(),
  createdAt: instant,
  total: z.int(),
  waiting: z.int(),
  made: z.int(),
  unchanged: z.int(),
  failed: z.int(),
  finished: z.boolean(),
  jobs: z.array(
    z.object({
      personId: z.uuid(),
      name: z.string(),
      state: jobState,
      error: z.string().nullable(),
      letterId: z.uuid().nullable(),
    }),
  ),
});

/** Batches of letters: made, tried again, fetched together. */
export async function letterBatchRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const coordinator = { policy: policies.coordinator };
  refuseUnknownSeasons(app);

  routes.post(
    '/api/seasons/:seasonId/letter-batches',
    {
      config: coordinator,
      schema: {
        summary: 'Have letters written, for all officials of a season or for some',
        tags,
        params: seasonAddress,
        body: z.object({
          kind: z.enum(letterKinds),
          paper: z.enum(papers).default('Letter'),
          replyBy: typedDay().nullable().default(null),
          personIds: z.array(z.uuid()).min(1).nullable().default(null),
        }),
        response: { 202: progressSchema },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const id = await createBatch(pool, session, { ...request.body, ...request.params });
      app.letterWork.wake();
      return reply.code(202).send(plain(await batchProgress(pool, session.conferenceId, id)));
    },
  );

  routes.get(
    '/api/letter-batches/:batchId',
    {
      config: coordinator,
      schema: {
        summary: 'How far the writing of letters is',
        tags,
        params: batchAddress,
        response: { 200: progressSchema },
      },
    },
    async (request) =>
      plain(await batchProgress(pool, sessionOf(request).conferenceId, request.params.batchId)),
  );

  routes.post(
    '/api/letter-batches/:batchId/retry',
    {
      config: coordinator,
      schema: {
        summary: 'Write again those letters of a batch that failed',
        tags,
        params: batchAddress,
        response: { 200: progressSchema },
      },
    },
    async (request) => {
      const { conferenceId } = sessionOf(request);
      await retryFailed(pool, conferenceId, request.params.batchId);
      app.letterWork.wake();
      return plain(await batchProgress(pool, conferenceId, request.params.batchId));
    },
  );

  routes.get(
    '/api/letter-batches/:batchId/letters.zip',
    {
      config: coordinator,
      schema: { summary: 'The letters of a batch, as a ZIP of PDF files', tags, params: batchAddress },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { jobs, kind, issuedOn } = await batchProgress(pool, conferenceId, request.params.batchId);
      const ids = jobs.flatMap(({ letterId }) => (letterId ? [letterId] : []));
      if (ids.length === 0) throw notFound('letter in this batch yet');
      return reply
        .type('application/zip')
        .header('cache-control', 'private, no-store')
        .header('content-disposition', `attachment; filename="letters-${kind}-${issuedOn}.zip"`)
        .send(
          zipOfLetters(ids, (id) =>
            app.reading(request, (from) => readLetterWithPdf(from, conferenceId, id)),
          ),
        );
    },
  );
}
