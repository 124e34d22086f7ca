import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import pLimit from 'p-limit';
import { z } from 'zod';
import { backTo } from '../../accounts/next-address.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { typedText } from '../../text/typed-text.ts';
import { fileReport } from '../filing/filing.ts';
import { reportWarnings } from '../filing/report-warnings.ts';
import { acceptReport, releaseReport, returnReport } from '../filing/review-steps.ts';
import { stepsOf } from '../step.ts';
import { remindOfReport } from './remind-of-report.ts';
import { warningSchema } from './report-routes.ts';
import { id, reasonSchema, reportAddress, seasonAddress, tags } from './review-schemas.ts';

// Filing counts a whole game. A few at a time, first come, first served: all at once, everybody would wait for the
// last, and so would whoever saves a mark.
const filing = pLimit(4);

const done = z.object({ done: z.literal(true) });

/** The way of a report from filed to released: filing, handing back, accepting, releasing one or several; and reminding of it. */
export async function reportStepRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const step = stepsOf(app);

  routes.post(
    '/api/reports/:reportId/file',
    {
      config: { policy: policies.writesReport },
      schema: {
        tags,
        summary: 'File my report; the answer warns of what is not whole',
        params: reportAddress,
        response: { 200: done.extend({ warnings: z.array(warningSchema) }) },
      },
    },
    async (request) => {
      const { reportId } = request.params;
      await filing(() => step(request, (client, acting) => fileReport(client, acting, reportId)));
      const { conferenceId } = sessionOf(request);
      const warnings = await reportWarnings(app.database.pool, { conferenceId, personId: null }, reportId);
      return { done: true as const, warnings };
    },
  );

  routes.post(
    '/api/reports/:reportId/return',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Hand a filed or accepted report back to its observer',
        params: reportAddress,
        body: z.strictObject({ reason: reasonSchema }),
        response: { 200: done },
      },
    },
    async (request) => {
      const { reason } = request.body;
      await step(request, (client, acting) => returnReport(client, acting, request.params.reportId, reason));
      return { done: true as const };
    },
  );

  for (const [name, work, summary] of [
    ['accept', acceptReport, 'Accept a filed report'],
    ['release', releaseReport, 'Release an accepted report to its officials'],
  ] as const) {
    routes.post(
      `/api/reports/:reportId/${name}`,
      {
        config: { policy: policies.coordinator },
        schema: { tags, summary, params: reportAddress, response: { 200: done } },
      },
      async (request) => {
        const { reportId } = request.params as { reportId: string };
        await step(request, (client, acting) => work(client, acting, reportId));
        return { done: true as const };
      },
    );
  }

  routes.post(
    '/api/seasons/:seasonId/reports/release',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Release several accepted reports at once: all of them, or none',
        params: seasonAddress,
        body: z.strictObject({ reportIds: z.array(id).min(1, 'choose at least one report').max(1000) }),
        response: { 200: z.object({ released: z.int() }) },
      },
    },
    async (request) => {
      const { reportIds } = request.body;
      await seasonOf(app.database, sessionOf(request).conferenceId, request.params.seasonId);
      await step(request, async (client, acting) => {
        for (const reportId of reportIds) {
          await releaseReport(client, acting, reportId);
        }
      });
      return { released: reportIds.length };
    },
  );

  routes.post(
    '/api/games/:gameId/remind',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Remind an observer of the report they owe on a game, once a day',
        params: z.object({ gameId: id }),
        body: z.strictObject({ observerId: id }),
        response: { 200: z.object({ reminded: z.boolean() }) },
      },
    },
    async (request) => {
      const { gameId } = request.params;
      const reminded = await step(request, (client, acting) =>
        remindOfReport(client, acting, gameId, request.body.observerId),
      );
      app.outbox.wake();
      return { reminded };
    },
  );

  routes.post(
    '/games/:gameId/remind',
    {
      config: { policy: policies.coordinator },
      schema: {
        hide: true,
        params: z.object({ gameId: id }),
        body: z.object({ observerId: id, next: typedText({ most: 200 }).optional() }),
      },
    },
    async (request, reply) => {
      const { gameId } = request.params;
      await step(request, (client, acting) =>
        remindOfReport(client, acting, gameId, request.body.observerId),
      );
      app.outbox.wake();
      return reply.redirect(backTo(request.body, `/games/${gameId}`), 303);
    },
  );
}
