import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { findingInWords, mayHaveConsequence } from '../../duties/consequence.ts';
import { type Finding, findings, findingsOf } from '../../duties/finding.ts';
import { counted, ofSeasonInView } from '../../schedule/pages/elsewhere.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { typedText } from '../../text/typed-text.ts';
import { errorsBesideLabels, formOf, textOf } from '../../web/form.ts';
import { day } from '../../web/format.ts';
import { notFound } from '../../web/problem.ts';
import { refusalOf } from '../request-errors.ts';
import { markLine, type OwnMark, releasedMarksAbout } from '../review/mark-lines.ts';
import { type Ruling, ruleOnReply, writeReply } from '../review/replies.ts';
import { replyPlace, seasonReplies } from '../review/reply-lines.ts';
import { keepReplyWindow, replyWindow, replyWindowSchema } from '../review/reply-window.ts';
import { replyTrail } from '../review/report-history.ts';
import { waitingForCoordinator } from '../review/report-lines.ts';
import { costChoices, costFrom, markView } from './mark-view.ts';
import { ownMarksView } from './own-marks-view.ts';
import { trailView } from './trail-view.ts';

const id = z.uuid();
const textSchema = typedText({
  least: 1,
  most: 4000,
  tooShort: 'Write your answer.',
  tooLong: 'The answer must be 4000 characters or fewer.',
});

/** An official's marks and answers to them, and the coordinator's rulings. */
export async function replyPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;

  pages.get(
    '/my/marks',
    {
      config: { policy: policies.official },
      schema: {
        hide: true,
        querystring: z.object({ show: z.string().optional(), report: id.optional() }),
      },
    },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const { here: marks, elsewhere } = ofSeasonInView(
        request,
        await releasedMarksAbout(pool, conferenceId, personId),
        (others) => counted(others.length, 'mark'),
      );
      const view = ownMarksView(
        marks.map((mark) => ({ ...mark, mayReply: mayReply(mark) })),
        request.query,
      );
      return reply.page(
        'reports/replies/my-marks',
        { ...view, elsewhere },
        { title: 'My marks', width: 'wide' },
      );
    },
  );

  async function ownMark(conferenceId: string, personId: string, observationId: string): Promise<OwnMark> {
    const marks = await releasedMarksAbout(pool, conferenceId, personId);
    const mark = marks.find((other) => other.id === observationId);
    if (!mark) throw notFound('mark');
    return mark;
  }

  const replyView = (mark: OwnMark, text = '', wrong?: string) => ({
    mark: { ...markView(mark), mayReply: mayReply(mark) },
    replyUntil: mark.replyUntil,
    timeZone: mark.timeZone,
    closedBecause: closedBecause(mark),
    text,
    wrong,
  });

  pages.get(
    '/observations/:observationId/reply',
    {
      config: { policy: policies.releasedObservationAboutMe },
      schema: { hide: true, params: z.object({ observationId: id }) },
    },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const mark = await ownMark(conferenceId, personId, request.params.observationId);
      return reply.page('reports/replies/write', replyView(mark), {
        title: 'Answer a mark',
        width: 'narrow',
      });
    },
  );

  pages.post(
    '/observations/:observationId/reply',
    {
      config: { policy: policies.releasedObservationAboutMe },
      schema: { hide: true, params: z.object({ observationId: id }) },
    },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const { observationId } = request.params;
      const sent = textOf(formOf(request.body).text);
      const text = textSchema.safeParse(sent);
      const wrong = text.success
        ? await refusalOf(() =>
            inTransaction(pool, (client) =>
              writeReply(client, { conferenceId, personId }, observationId, text.data),
            ),
          )
        : text.error.issues[0]!.message;
      const mark = await ownMark(conferenceId, personId, observationId);
      if (!wrong) return reply.redirect(`/my/marks?report=${mark.reportId}#report-${mark.reportId}`, 303);
      return reply.code(422).page('reports/replies/write', replyView(mark, sent, wrong), {
        title: 'Answer a mark',
        width: 'narrow',
      });
    },
  );

  async function listView(request: FastifyRequest, sent?: string, wrong?: string) {
    const { conferenceId } = sessionOf(request);
    const season = await seasonInView(database, request);
    const lines = season ? await seasonReplies(pool, conferenceId, season.id) : [];
    const { replyDays } = await replyWindow(database, conferenceId);
    return {
      waiting: lines.filter((line) => !line.ruling),
      ruled: lines.filter((line) => line.ruling),
      replyDays: sent ?? String(replyDays),
      wrong,
      elsewhere: ofSeasonInView(
        request,
        (await waitingForCoordinator(pool, conferenceId)).filter(({ what }) => what === 'ruling'),
        (others) => `${counted(others.length, 'answer')} waiting for a ruling`,
      ).elsewhere,
    };
  }
  const listOptions = { title: 'Replies', width: 'wide' } as const;

  pages.get(
    '/replies',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => reply.page('reports/replies/list', await listView(request), listOptions),
  );

  pages.post(
    '/replies/window',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const sent = textOf(formOf(request.body).replyDays);
      const parsed = replyWindowSchema.safeParse({ replyDays: sent.trim() || undefined });
      if (!parsed.success) {
        const wrong = errorsBesideLabels(parsed.error).replyDays;
        return reply
          .code(422)
          .page('reports/replies/list', await listView(request, sent, wrong), listOptions);
      }
      await inTransaction(pool, (client) => keepReplyWindow(client, { conferenceId, personId }, parsed.data));
      return reply.redirect('/replies', 303);
    },
  );

  async function rulingView(
    conferenceId: string,
    replyId: string,
    coordinator: boolean,
    values: { ruling?: string; changedTo?: string; consequence?: string; note?: string } = {},
    wrong?: string,
  ) {
    const place = await replyPlace(pool, conferenceId, replyId);
    const mark = place && (await markLine(pool, conferenceId, place.observationId));
    if (!place || !mark) throw notFound('reply');
    const fitting = findingsOf(mark.gradedAs);
    return {
      reportId: place.reportId,
      gameId: place.gameId,
      timeZone: place.timeZone,
      trail: await trailView(pool, conferenceId, await replyTrail(pool, conferenceId, replyId)),
      mark: markView(mark),
      coordinator,
      mayRule: coordinator && !mark.ruling,
      wrong,
      note: values.note ?? '',
      rulings: (['stands', 'changed', 'withdrawn'] as const).map((ruling) => ({
        ruling,
        chosen: ruling === (values.ruling ?? 'stands'),
        means: {
          stands: 'the mark stays as it is',
          changed: 'to the finding chosen below; the grade follows',
          withdrawn: 'the mark no longer counts; the grade follows',
        }[ruling],
      })),
      // A call may stay what it was and be judged to have cost something else.
      changes: fitting
        .filter((finding) => finding !== mark.finding || mayHaveConsequence(finding))
        .map((finding) => ({
          finding,
          said: findingInWords(finding),
          chosen: finding === values.changedTo,
        })),
      costs: fitting.some(mayHaveConsequence) ? costChoices(values.consequence ?? mark.consequence) : null,
    };
  }

  const replyParams = z.object({ replyId: id });

  pages.get(
    '/replies/:replyId',
    { config: { policy: policies.ownReply }, schema: { hide: true, params: replyParams } },
    async (request, reply) => {
      const { conferenceId, roles } = sessionOf(request);
      const view = await rulingView(conferenceId, request.params.replyId, roles.has('coordinator'));
      return reply.page('reports/replies/ruling', view, { title: 'Reply and ruling', width: 'narrow' });
    },
  );

  pages.post(
    '/replies/:replyId',
    { config: { policy: policies.coordinator }, schema: { hide: true, params: replyParams } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const { replyId } = request.params;
      const form = formOf(request.body);
      const values = {
        ruling: textOf(form.ruling),
        changedTo: textOf(form.changedTo),
        consequence: textOf(form.consequence),
        note: textOf(form.note),
      };
      const decided = rulingOf(values);
      const wrong =
        typeof decided === 'string'
          ? decided
          : await refusalOf(() =>
              inTransaction(pool, (client) =>
                ruleOnReply(client, { conferenceId, personId }, replyId, decided),
              ),
            );
      if (!wrong) return reply.redirect(`/replies/${replyId}`, 303);
      const view = await rulingView(conferenceId, replyId, true, values, wrong);
      return reply
        .code(422)
        .page('reports/replies/ruling', view, { title: 'Reply and ruling', width: 'narrow' });
    },
  );
}

/** The ruling a form describes, or what is wrong with it. */
function rulingOf(values: {
  ruling: string;
  changedTo: string;
  consequence: string;
  note: string;
}): Ruling | string {
  const { ruling, note, consequence } = values;
  if (note.length > 4000) return 'The note must be 4000 characters or fewer.';
  if (ruling === 'stands' || ruling === 'withdrawn') return { ruling, note };
  if (ruling !== 'changed') return 'Choose whether the mark stands, is changed or is withdrawn.';
  const changedTo = z.enum(findings as [Finding, ...Finding[]]).safeParse(values.changedTo);
  return changedTo.success
    ? { ruling, changedTo: changedTo.data, consequence: costFrom(consequence, changedTo.data), note }
    : 'Choose the finding that the mark is changed to.';
}

function closedBecause(mark: OwnMark): string {
  if (mark.removed) return 'This mark was withdrawn, so there is nothing to answer.';
  if (mark.replyId !== null) return 'You have answered this mark already.';
  return `The time to answer this evaluation ended on ${day(mark.replyUntil, mark.timeZone)}. Write to the coordinator.`;
}

const mayReply = (mark: OwnMark) => mark.replyId === null && !mark.removed && isOpenUntil(mark.replyUntil);

const isOpenUntil = (until: Date | null) => until === null || until >= new Date();
