import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { backTo } from '../../accounts/next-address.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Session } from '../../accounts/session.ts';
import { inTransaction } from '../../database/transaction.ts';
import { findingInWords } from '../../duties/consequence.ts';
import { whyNotCounted } from '../../duties/mark-standing.ts';
import { positions } from '../../football/positions.ts';
import { formOf, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';
import { numberOf } from '../../web/whole-number.ts';
import { whatIsMissing } from '../filing/filing.ts';
import { acceptReport, releaseReport, returnReport } from '../filing/review-steps.ts';
import { contradictionsView, gameContradictions } from '../plays/play-contradictions.ts';
import { readGameTitle } from '../plays/play-list.ts';
import { refusalOf } from '../request-errors.ts';
import { howComplete } from '../review/how-complete.ts';
import { reportMarks } from '../review/mark-lines.ts';
import { reportRevisions, reportTrail, revisionMarks } from '../review/report-history.ts';
import { officialCounts, reportDetails, reportLine } from '../review/report-lines.ts';
import { sharesOfReport } from '../review/report-shares.ts';
import { isOpen, StepRefused, stepsFrom } from '../states.ts';
import { findingTone, markView, tones } from './mark-view.ts';
import { sharesView } from './shares-view.ts';
import { trailView } from './trail-view.ts';

const id = z.uuid();

/** One report: what it says, its earlier revisions, and the coordinator's steps with it. */
export async function reportPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const attempt = (work: Parameters<typeof inTransaction>[1]) => refusalOf(() => inTransaction(pool, work));

  async function reportView(
    { conferenceId, personId, roles }: Pick<Session, 'conferenceId' | 'personId' | 'roles'>,
    reportId: string,
    wrong?: string,
  ) {
    const report = await reportLine(pool, conferenceId, reportId);
    if (!report) throw notFound('report');
    const marks = (await reportMarks(pool, conferenceId, reportId)).map(markView);
    const counts = await officialCounts(pool, conferenceId, reportId);
    const seen = sharesView(await sharesOfReport(pool, conferenceId, reportId));
    const coordinator = roles.has('coordinator');
    const game = await readGameTitle(pool, conferenceId, report.gameId);
    const contradictions = await gameContradictions(pool, conferenceId, game);
    const steps = new Set(coordinator ? stepsFrom(report.state, 'coordinator') : []);
    const missing = isOpen(report.state)
      ? await inTransaction(pool, (client) =>
          whatIsMissing(client, { conferenceId, personId: null }, reportId),
        ).catch(() => [])
      : [];
    const complete = await inTransaction(pool, (client) =>
      howComplete(client, { conferenceId, personId: null }, report, coordinator),
    ).catch((error) => {
      // Without a rubric there is nothing to count by yet.
      if (error instanceof StepRefused) return undefined;
      throw error;
    });
    return {
      complete,
      report: { ...report, tone: tones[report.state] },
      wrong,
      coordinator,
      mayReturn: steps.has('return'),
      mayAccept: steps.has('accept'),
      mayRelease: steps.has('release'),
      mayRevise: steps.has('revise'),
      missing,
      contradictions: contradictionsView(contradictions, report.gameId, coordinator),
      // Only its observer can put it right, on the entry page.
      enters: isOpen(report.state) && report.observerId === personId,
      marks,
      seen,
      officials: positions
        .map((position) => ({
          position,
          count: counts.find((count) => count.position === position),
          shares: seen.of.get(position),
          marks: marks.filter((mark) => mark.position === position),
        }))
        .filter((official) => official.count || official.marks.length > 0)
        .map((official) => ({ ...official, name: official.count?.official ?? official.marks[0]?.official })),
      details: await reportDetails(pool, conferenceId, reportId),
      revisions: coordinator ? await reportRevisions(pool, conferenceId, reportId) : [],
      trail: coordinator
        ? (await trailView(pool, conferenceId, await reportTrail(pool, conferenceId, reportId))).map(
            (entry) =>
              // The report itself is the page's subject.
              entry.kind === 'report' ? { ...entry, subject: undefined } : entry,
          )
        : [],
    };
  }

  pages.get(
    '/reports/:reportId',
    {
      config: { policy: policies.ownReport },
      schema: { hide: true, params: z.object({ reportId: id }) },
    },
    async (request, reply) => {
      const view = await reportView(sessionOf(request), request.params.reportId);
      return reply.page('reports/report', view, { title: `Report: ${view.report.game}`, width: 'wide' });
    },
  );

  pages.get(
    '/reports/:reportId/revisions/:revision',
    {
      config: { policy: policies.coordinator },
      schema: { hide: true, params: z.object({ reportId: id, revision: numberOf('revision') }) },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { reportId, revision } = request.params;
      const report = await reportLine(pool, conferenceId, reportId);
      const line = (await reportRevisions(pool, conferenceId, reportId)).find(
        (other) => other.revision === revision,
      );
      if (!report || !line) throw notFound('revision');
      const marks = await revisionMarks(pool, conferenceId, reportId, revision);
      return reply.page(
        'reports/revision',
        {
          report,
          line,
          current: revision === report.revision,
          marks: marks.map((mark) => ({
            ...mark,
            said: findingInWords(mark.finding, mark.consequence),
            tone: findingTone(mark.finding),
            notCounted: whyNotCounted(mark.standing),
          })),
        },
        { title: `Revision ${revision}: ${report.game}`, width: 'wide' },
      );
    },
  );

  for (const step of ['accept', 'release', 'return'] as const) {
    pages.post(
      `/reports/:reportId/${step}`,
      {
        config: { policy: policies.coordinator },
        schema: { hide: true, params: z.object({ reportId: id }) },
      },
      async (request, reply) => {
        const acting = sessionOf(request);
        const { reportId } = request.params as { reportId: string };
        const form = formOf(request.body);
        const reason = textOf(form.reason);
        const wrong = await attempt((client) =>
          step === 'accept'
            ? acceptReport(client, acting, reportId)
            : step === 'release'
              ? releaseReport(client, acting, reportId)
              : returnReport(client, acting, reportId, reason),
        );
        if (!wrong) return reply.redirect(backTo(form, `/reports/${reportId}`), 303);
        const view = await reportView(sessionOf(request), reportId, wrong);
        return reply
          .code(422)
          .page('reports/report', view, { title: `Report: ${view.report.game}`, width: 'wide' });
      },
    );
  }
}
