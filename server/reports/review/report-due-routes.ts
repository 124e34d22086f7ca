import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { stepsOf } from '../step.ts';
import { keepReportDays, reportDaysOf, reportDaysSchema } from './report-due.ts';
import { tags } from './review-schemas.ts';

/** Until when reports are to be filed: the conference's to set. */
export async function reportDueRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const step = stepsOf(app);

  routes.get(
    '/api/report-days',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Within how many days of kickoff observers are to file their reports',
        response: { 200: reportDaysSchema },
      },
    },
    (request) => reportDaysOf(app.database, sessionOf(request).conferenceId),
  );

  routes.put(
    '/api/report-days',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Set within how many days; what is later is overdue, games already played too',
        body: reportDaysSchema,
        response: { 200: reportDaysSchema },
      },
    },
    async (request) => {
      await step(request, (client, acting) => keepReportDays(client, acting, request.body));
      return request.body;
    },
  );
}
