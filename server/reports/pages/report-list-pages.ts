import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { formOf, listOf } from '../../web/form.ts';
import { releaseReport } from '../filing/review-steps.ts';
import { refusalOf } from '../request-errors.ts';
import { dueOf, reportDaysOf } from '../review/report-due.ts';
import { seasonReports, waitingForCoordinator } from '../review/report-lines.ts';
import type { ReportState } from '../states.ts';
import { tones } from './mark-view.ts';

/** A season's reports, and the release of several at once. */
export async function reportListPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const attempt = (work: Parameters<typeof inTransaction>[1]) => refusalOf(() => inTransaction(pool, work));

  async function listView(request: FastifyRequest, wrong?: string) {
    const { conferenceId } = sessionOf(request);
    const season = await seasonInView(database, request);
    const lines = season ? await seasonReports(pool, conferenceId, season.id) : [];
    const { reportDays } = await reportDaysOf(database, conferenceId);
    const now = new Date();
    const group = (...states: ReportState[]) =>
      lines
        .filter((line) => states.includes(line.state))
        .map((line) => ({
          ...line,
          tone: tones[line.state],
          late: line.state === 'draft' && dueOf(line.kickoff, reportDays) <= now,
        }));
    return {
      season,
      wrong,
      filed: group('filed'),
      accepted: group('accepted'),
      atWork: group('draft', 'returned'),
      released: group('released'),
      elsewhere: ofSeasonInView(
        request,
        (await waitingForCoordinator(pool, conferenceId)).filter(({ what }) => what !== 'ruling'),
        (others) => `${counted(others.length, 'report')} to review or release`,
      ).elsewhere,
    };
  }

  pages.get(
    '/reports',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) =>
      reply.page('reports/list', await listView(request), {
        title: 'Reports',
        width: 'wide',
      }),
  );

  pages.post(
    '/reports/release',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => {
      const acting = sessionOf(request);
      const chosen = listOf(formOf(request.body).reportIds);
      const wrong =
        chosen.length === 0
          ? 'Choose at least one report to release.'
          : await attempt(async (client) => {
              for (const reportId of chosen) await releaseReport(client, acting, z.uuid().parse(reportId));
            });
      if (wrong) {
        return reply.code(422).page('reports/list', await listView(request, wrong), {
          title: 'Reports',
          width: 'wide',
        });
      }
      return reply.redirect('/reports', 303);
    },
  );
}
