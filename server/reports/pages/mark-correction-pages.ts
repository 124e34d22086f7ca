import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import {
  consequenceInWords,
  consequences,
  findingInWords,
  mayHaveConsequence,
} from '../../duties/consequence.ts';
import { type Finding, findings, findingsOf } from '../../duties/finding.ts';
import { typedText } from '../../text/typed-text.ts';
import { formOf, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';
import { reviseReport } from '../filing/revisions.ts';
import { refusalOf } from '../request-errors.ts';
import { markLine } from '../review/mark-lines.ts';
import { reportLine } from '../review/report-lines.ts';
import { markView } from './mark-view.ts';

const id = z.uuid();

/** Correcting one mark of a released report. */
export async function markCorrectionPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const attempt = (work: Parameters<typeof inTransaction>[1]) => refusalOf(() => inTransaction(pool, work));

  async function correctionView(
    conferenceId: string,
    reportId: string,
    observationId: string,
    values: { finding?: string; consequence?: string; comment?: string; reason?: string } = {},
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
      choices: [...fitting, 'remove the mark'].map((finding) => ({
        finding,
        said: findingInWords(finding),
        chosen: finding === chosen,
      })),
      costs: fitting.some(mayHaveConsequence) ? costChoices(values.consequence ?? mark.consequence) : null,
    };
  }

  const markParams = z.object({ reportId: id, observationId: id });

  pages.get(
    '/reports/:reportId/marks/:observationId',
    {
      config: { policy: policies.coordinator },
      // What led here proposes the reason, such as a team's inquiry.
      schema: {
        hide: true,
        params: markParams,
        querystring: z.object({ reason: typedText({ most: 200 }).default('') }),
      },
    },
    async (request, reply) => {
      const { reportId, observationId } = request.params;
      const { reason } = request.query;
      const view = await correctionView(sessionOf(request).conferenceId, reportId, observationId, { reason });
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
        consequence: textOf(form.consequence),
        comment: textOf(form.comment),
        reason: textOf(form.reason),
      };
      const finding = z.enum(findings as [Finding, ...Finding[]]).safeParse(values.finding);
      const wrong = await attempt((client) =>
        reviseReport(client, acting, reportId, values.reason, [
          finding.success
            ? {
                markId,
                finding: finding.data,
                comment: values.comment,
                consequence: costFrom(values.consequence, finding.data),
              }
            : { markId, remove: true },
        ]),
      );
      if (!wrong) return reply.redirect(`/reports/${reportId}`, 303);
      const view = await correctionView(acting.conferenceId, reportId, markId, values, wrong);
      return reply.code(422).page('reports/correct-mark', view, { title: 'Correct a mark', width: 'narrow' });
    },
  );
}

/** The choices of what a call cost, for a select; the first is that nobody judged it. */
function costChoices(chosen: string | null | undefined) {
  return [
    { value: '', words: 'not judged', chosen: !chosen },
    ...consequences.map((value) => ({ value, words: consequenceInWords[value], chosen: value === chosen })),
  ];
}

/** What such a select says, for findings that can have a consequence; others have none. */
function costFrom(text: string, finding: Finding) {
  if (!mayHaveConsequence(finding)) return null;
  return consequences.find((consequence) => consequence === text) ?? null;
}
