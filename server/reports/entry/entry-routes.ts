import { createHash } from 'node:crypto';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { openReport } from '../filing/open-report.ts';
import { withProblems } from '../request-errors.ts';
import { mostChangesAtOnce } from './change-limit.ts';
import { arrivedSchema, changeResultSchema } from './changes.ts';
import { type EntrySnapshot, entrySnapshotSchema } from './entry-snapshot.ts';
import { entrySnapshot, snapshotToBegin } from './entry-store.ts';
import { saveChanges } from './save-mark.ts';
import { refusalOfUnfit } from './unfit-change.ts';

const tags = ['reports'];
const reportParams = z.object({ reportId: z.uuid() });

/** What an observer's device reads and sends while a report is entered, and the page it does that from. */
export async function entryRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  const consistently = (read: (client: Queryable) => Promise<EntrySnapshot>) =>
    withProblems(() =>
      inTransaction(pool, async (client) => {
        await client.query('SET TRANSACTION ISOLATION LEVEL REPEATABLE READ');
        return read(client);
      }),
    );

  routes.post(
    '/api/games/:gameId/reports',
    {
      config: { policy: policies.assignedGame },
      schema: {
        tags,
        summary: 'Open my report on a game; the one there is, when I opened it before',
        description:
          '`reportId`: an id made by the device (UUIDv7), for a report that was begun without a network.',
        params: z.object({ gameId: z.uuid() }),
        body: z.strictObject({ reportId: z.uuid().optional() }).nullish(),
        response: { 200: z.object({ reportId: z.string() }) },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const reportId = await withProblems(() =>
        openReport(
          pool,
          { conferenceId, personId },
          { gameId: request.params.gameId, observerId: personId, ...idOf(request.body?.reportId) },
        ),
      );
      return { reportId };
    },
  );

  routes.post(
    '/games/:gameId/report',
    {
      config: { policy: policies.assignedGame },
      schema: { hide: true, params: z.object({ gameId: z.uuid() }) },
    },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const { gameId } = request.params;
      const acting = { conferenceId, personId };
      const reportId = await withProblems(() => openReport(pool, acting, { gameId, observerId: personId }));
      return reply.redirect(`/reports/${reportId}/entry`, 303);
    },
  );

  routes.get(
    '/reports/:reportId/entry',
    { config: { policy: policies.writesReport }, schema: { hide: true, params: reportParams } },
    async (request, reply) =>
      reply.page(
        'reports/report-entry',
        { reportId: request.params.reportId, personId: sessionOf(request).personId },
        { title: 'Report', scripts: ['report-entry'], width: 'wide' },
      ),
  );

  // The same page of no report in particular: what a device shows for any of its reports while there is no network.
  routes.get(
    '/my/entry-page',
    { config: { policy: policies.observer }, schema: { hide: true } },
    async (request, reply) =>
      reply.page(
        'reports/report-entry',
        { reportId: '', personId: sessionOf(request).personId },
        { title: 'Report', scripts: ['report-entry'], width: 'wide' },
      ),
  );

  routes.get(
    '/api/games/:gameId/entry',
    {
      config: { policy: policies.assignedGame },
      schema: {
        tags,
        summary: 'A game as my report on it would begin, to be entered without a network',
        description:
          'Opens nothing. `reportId` is the id that the device made for the report (UUIDv7); a report that is there comes under its own. Answers 304 to If-None-Match when nothing changed.',
        params: z.object({ gameId: z.uuid() }),
        querystring: z.object({ reportId: z.uuid() }),
        response: { 200: entrySnapshotSchema, 304: z.undefined() },
      },
    },
    async (request, reply) => {
      const { conferenceId, personId: observerId } = sessionOf(request);
      const { gameId } = request.params;
      const { reportId } = request.query;
      const snapshot = await consistently((client) =>
        snapshotToBegin(client, conferenceId, { gameId, observerId, reportId }),
      );
      return unlessKnown(snapshot, request, reply);
    },
  );

  routes.get(
    '/api/reports/:reportId/entry',
    {
      config: { policy: policies.writesReport },
      schema: {
        tags,
        summary: 'My report with its game, crew, play log, marks, duties and open conflicts',
        description: 'Answers 304 to If-None-Match when nothing changed.',
        params: reportParams,
        response: { 200: entrySnapshotSchema, 304: z.undefined() },
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const snapshot = await consistently((client) =>
        entrySnapshot(client, conferenceId, request.params.reportId),
      );
      return unlessKnown(snapshot, request, reply);
    },
  );

  routes.post(
    '/api/reports/:reportId/changes',
    {
      config: { policy: policies.writesReport, judgesBody: true },
      schema: {
        tags,
        summary: 'Send changes to my open report',
        description:
          'Applied in order, each once however often it is sent: a change has an id made by the device (UUIDv7). `basedOn` is the id of the change that last touched the row as the device saw it; when another device has touched it since, the change is a conflict, kept until a `resolve` change chooses. A change that cannot be taken is refused by itself, with the reason, and the others are applied.',
        params: reportParams,
        body: z.strictObject({ changes: z.array(arrivedSchema).min(1).max(mostChangesAtOnce) }),
        response: { 200: z.object({ results: z.array(changeResultSchema) }) },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      const { changes: arrived } = request.body;
      const fit = arrived.flatMap((one) => ('change' in one ? [one.change] : []));
      const acting = { conferenceId, personId };
      const saved = await withProblems(() => saveChanges(pool, acting, request.params.reportId, fit));
      let next = 0;
      const results = arrived.map((one) => ('change' in one ? saved[next++]! : refusalOfUnfit(one.unfit)));
      for (const { outcome } of results) app.metrics.changeSaved(outcome);
      return { results };
    },
  );
}

const idOf = (id: string | undefined) => (id === undefined ? {} : { id });

/** The snapshot with its tag, or 304 when the device has just this one. */
function unlessKnown(snapshot: EntrySnapshot, request: FastifyRequest, reply: FastifyReply) {
  const tag = `"${createHash('sha256').update(JSON.stringify(snapshot)).digest('base64url').slice(0, 22)}"`;
  reply.header('etag', tag).header('cache-control', 'private, no-cache');
  if (request.headers['if-none-match'] === tag) return reply.code(304).send();
  return snapshot;
}
