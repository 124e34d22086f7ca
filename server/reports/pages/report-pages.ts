import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Session } from '../../accounts/session.ts';
import { inTransaction } from '../../database/transaction.ts';
import { effectOf, type Finding, findings, findingsOf } from '../../duties/finding.ts';
import { positions } from '../../football/positions.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { formOf, listOf, textOf } from '../../web/form.ts';
import { notFound, Problem } from '../../web/problem.ts';
import { numberOf } from '../../web/whole-number.ts';
import { downText, resultText } from '../entry/play-fields.ts';
import { acceptReport, releaseReport, returnReport, whatIsMissing } from '../filing/filing.ts';
import { reviseReport } from '../filing/revisions.ts';
import { asProblem } from '../request-errors.ts';
import {
  type MarkLine,
  markLine,
  observerGames,
  officialCounts,
  type ReportLine,
  reportLine,
  reportMarks,
  reportRevisions,
  reportTrail,
  revisionMarks,
  seasonReports,
  waitingForCoordinator,
} from '../review/review-store.ts';
import { isOpen, type ReportState, stepsFrom } from '../states.ts';
import { trailView } from './trail-view.ts';

const id = z.uuid();
const tones: Record<ReportState, string> = {
  draft: '',
  filed: 'warn',
  returned: 'bad',
  accepted: 'good',
  released: 'good',
};

/** The coordinator's review of reports, and an observer's list of their own. */
export async function reportPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;

  /** Does a step and goes on to `next`; a refusal is shown on the page that `again` makes. */
  async function attempt<Result>(
    work: Parameters<typeof inTransaction<Result>>[1],
  ): Promise<string | undefined> {
    try {
      await inTransaction(pool, work);
      return undefined;
    } catch (error) {
      const problem = asProblem(error);
      if (!(problem instanceof Problem)) throw problem;
      return problem.message;
    }
  }

  pages.get(
    '/my/games',
    { config: { policy: policies.observer }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const assigned = await observerGames(pool, conferenceId, personId);
      const { here, elsewhere } = ofSeasonInView(request, assigned, (others) => {
        const drafts = others.filter((game) => game.reportId === null || isOpen(game.state!)).length;
        return `${counted(others.length, 'game')}${drafts > 0 ? `, ${drafts} to report on` : ''}`;
      });
      const games = here.map((game) => ({
        ...game,
        tone: game.state ? tones[game.state] : '',
        begin: game.reportId === null,
        atWork: game.state === 'draft' || game.state === 'returned',
      }));
      return reply.page(
        'reports/my-games',
        {
          atWork: games.filter((game) => game.begin || game.atWork),
          done: games.filter((game) => !game.begin && !game.atWork),
          elsewhere,
        },
        { title: 'My games' },
      );
    },
  );

  async function listView(request: FastifyRequest, wrong?: string) {
    const { conferenceId } = sessionOf(request);
    const season = await seasonInView(database, request);
    const lines = season ? await seasonReports(pool, conferenceId, season.id) : [];
    const group = (...states: ReportState[]) =>
      lines
        .filter((line) => states.includes(line.state))
        .map((line) => ({ ...line, tone: tones[line.state] }));
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

  async function reportView(
    { conferenceId, personId, roles }: Pick<Session, 'conferenceId' | 'personId' | 'roles'>,
    reportId: string,
    wrong?: string,
  ) {
    const report = await reportLine(pool, conferenceId, reportId);
    if (!report) throw notFound('report');
    const marks = (await reportMarks(pool, conferenceId, reportId)).map(markView);
    const counts = await officialCounts(pool, conferenceId, reportId);
    const coordinator = roles.has('coordinator');
    const steps = new Set(coordinator ? stepsFrom(report.state, 'coordinator') : []);
    const missing = isOpen(report.state)
      ? await inTransaction(pool, (client) =>
          whatIsMissing(client, { conferenceId, personId: null }, reportId),
        ).catch(() => [])
      : [];
    return {
      report: { ...report, tone: tones[report.state] },
      wrong,
      coordinator,
      mayReturn: steps.has('return'),
      mayAccept: steps.has('accept'),
      mayRelease: steps.has('release'),
      mayRevise: steps.has('revise'),
      missing,
      // Only its observer can put it right, on the entry page.
      enters: isOpen(report.state) && report.observerId === personId,
      marks,
      officials: positions
        .map((position) => ({
          position,
          count: counts.find((count) => count.position === position),
          marks: marks.filter((mark) => mark.position === position),
        }))
        .filter((official) => official.count || official.marks.length > 0)
        .map((official) => ({ ...official, name: official.count?.official ?? official.marks[0]?.official })),
      details: await reportDetails(conferenceId, reportId),
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

  async function reportDetails(conferenceId: string, reportId: string) {
    const { rows } = await pool.query<{
      generalComment: string;
      returnedReason: string | null;
      replyUntil: Date | null;
      openedUntil: Date | null;
      zone: string;
    }>(
      `SELECT general_comment AS "generalComment", returned_reason AS "returnedReason", reply_until AS "replyUntil",
              c.time_zone AS zone,
              (SELECT max(w.open_until) FROM reply_opening w WHERE w.conference_id = $1 AND w.report_id = r.id
                  AND w.open_until > r.reply_until) AS "openedUntil"
         FROM report r JOIN conference c ON c.id = r.conference_id WHERE r.conference_id = $1 AND r.id = $2`,
      [conferenceId, reportId],
    );
    return rows[0]!;
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
          marks: marks.map((mark) => ({ ...mark, tone: findingTone(mark.finding) })),
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
        const reason = textOf(formOf(request.body).reason);
        const wrong = await attempt((client) =>
          step === 'accept'
            ? acceptReport(client, acting, reportId)
            : step === 'release'
              ? releaseReport(client, acting, reportId)
              : returnReport(client, acting, reportId, reason),
        );
        if (!wrong) return reply.redirect(`/reports/${reportId}`, 303);
        const view = await reportView(sessionOf(request), reportId, wrong);
        return reply
          .code(422)
          .page('reports/report', view, { title: `Report: ${view.report.game}`, width: 'wide' });
      },
    );
  }

  async function correctionView(
    conferenceId: string,
    reportId: string,
    observationId: string,
    values: { finding?: string; comment?: string; reason?: string } = {},
    wrong?: string,
  ) {
    const report = await reportLine(pool, conferenceId, reportId);
    const mark = await markLine(pool, conferenceId, observationId);
    if (!report || !mark) throw notFound('mark');
    const fitting = findingsOf(mark.gradedAs);
    const chosen = values.finding ?? mark.finding;
    return {
      report,
      mark: markView(mark),
      wrong,
      reason: values.reason ?? '',
      comment: values.comment ?? mark.comment,
      choices: [...fitting, 'remove the mark'].map((finding) => ({ finding, chosen: finding === chosen })),
    };
  }

  const markParams = z.object({ reportId: id, observationId: id });

  pages.get(
    '/reports/:reportId/marks/:observationId',
    { config: { policy: policies.coordinator }, schema: { hide: true, params: markParams } },
    async (request, reply) => {
      const { reportId, observationId } = request.params;
      const view = await correctionView(sessionOf(request).conferenceId, reportId, observationId);
      return reply.page('reports/correct-mark', view, { title: 'Correct a mark', width: 'narrow' });
    },
  );

  pages.post(
    '/reports/:reportId/marks/:observationId',
    { config: { policy: policies.coordinator }, schema: { hide: true, params: markParams } },
    async (request, reply) => {
      const acting = sessionOf(request);
      const { reportId, observationId: markId } = request.params;
      const form = formOf(request.body);
      const values = {
        finding: textOf(form.finding),
        comment: textOf(form.comment),
        reason: textOf(form.reason),
      };
      const finding = z.enum(findings as [Finding, ...Finding[]]).safeParse(values.finding);
      const wrong = await attempt((client) =>
        reviseReport(client, acting, reportId, values.reason, [
          finding.success
            ? { markId, finding: finding.data, comment: values.comment }
            : { markId, remove: true },
        ]),
      );
      if (!wrong) return reply.redirect(`/reports/${reportId}`, 303);
      const view = await correctionView(acting.conferenceId, reportId, markId, values, wrong);
      return reply.code(422).page('reports/correct-mark', view, { title: 'Correct a mark', width: 'narrow' });
    },
  );
}

/** A mark with its play in words. */
export function markView(mark: MarkLine) {
  return {
    ...mark,
    tone: findingTone(mark.finding),
    where: [mark.play.kind, downText(mark.play), resultText(mark.play)].filter(Boolean).join(', '),
    quarter: mark.play.quarter,
    clock: mark.play.clockSeconds,
    replied: mark.replyId !== null,
  };
}

function findingTone(finding: Finding): string {
  return { met: 'good', 'not met': 'bad', 'not counted': '' }[effectOf(finding)];
}

export type { ReportLine };
