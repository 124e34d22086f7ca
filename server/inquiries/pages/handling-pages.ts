import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Printer } from '../../programs/outputs/printer.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { errorsOf, type Form, formOf, listOf, textOf } from '../../web/form.ts';
import { dayIn } from '../../web/today.ts';
import { handlingSchema, inquiryAddress } from '../inquiry-schemas.ts';
import { type Refused, refusedOf } from '../refusals.ts';
import { daysOverdue } from '../rules/limits.ts';
import { outcomes, seasonCounts } from '../rules/season-counts.ts';
import { isOpen } from '../rules/states.ts';
import { inquiriesOfSeason } from '../stores/inquiry-store.ts';
import { takeStep } from '../take-step.ts';
import { handlingView } from './handling-view.ts';
import { inquiryLine } from './inquiry-view.ts';

/** Where coordinators see what teams ask, handle and answer it, and count it. */
export function handlingPages(printer: Printer) {
  return async (app: FastifyInstance): Promise<void> => {
    const pages = app.withTypeProvider<ZodTypeProvider>();
    const { database } = app;
    const { pool } = database;
    const forCoordinator = { policy: policies.coordinator };
    const aboutInquiry = {
      config: { policy: policies.inquiryOfConference },
      schema: { hide: true, params: inquiryAddress },
    } as const;

    pages.get('/inquiries', { config: forCoordinator, schema: { hide: true } }, async (request, reply) => {
      const { conferenceId, timeZone } = sessionOf(request);
      const season = await seasonInView(database, request);
      if (!season) return noSeason(reply);
      const today = dayIn(timeZone);
      const lines = (await inquiriesOfSeason(pool, conferenceId, season.id)).map((inquiry) => ({
        ...inquiryLine(inquiry),
        open: isOpen(inquiry.state),
        overdue: isOpen(inquiry.state) && inquiry.dueOn !== null ? daysOverdue(inquiry.dueOn, today) : 0,
      }));
      return reply.page(
        'inquiries/list',
        {
          season,
          overdue: lines.filter(({ overdue }) => overdue > 0),
          waiting: lines.filter(({ open, overdue }) => open && overdue === 0),
          done: lines.filter(({ open }) => !open),
        },
        { title: 'Inquiries', width: 'wide' },
      );
    });

    const show = async (
      request: FastifyRequest,
      reply: FastifyReply,
      inquiryId: string,
      typed: Form = {},
      refused: Refused | null = null,
    ) => {
      const view = await handlingView(pool, sessionOf(request), inquiryId, typed, refused);
      const done = textOf(formOf(request.query).done);
      return reply.page(
        'inquiries/handling',
        { ...view, done, doneWords: doneWords[done] ?? 'Done.' },
        { title: view.title },
      );
    };

    pages.get('/inquiries/:inquiryId', aboutInquiry, (request, reply) =>
      show(request, reply, request.params.inquiryId),
    );

    pages.post('/inquiries/:inquiryId', aboutInquiry, async (request, reply) => {
      const acting = sessionOf(request);
      const { inquiryId } = request.params;
      const form = formOf(request.body);
      const parsed = handlingSchema.safeParse(handlingIn(form));
      if (!parsed.success)
        return show(request, reply.code(422), inquiryId, form, {
          errors: errorsOf(parsed.error),
          wrong: null,
        });
      const handling = parsed.data;
      const refused = await refusedOf(() =>
        takeStep(
          database,
          acting,
          inquiryId,
          handling,
          (letter) => printer.print(letter, 'Letter'),
          Number.parseInt(textOf(form.seen), 10) || null,
        ),
      );
      if (refused) return show(request, reply.code(422), inquiryId, form, refused);
      app.outbox.wake();
      return reply.redirect(`/inquiries/${inquiryId}?done=${encodeURIComponent(handling.step)}`, 303);
    });

    pages.get(
      '/seasons/:seasonId/inquiry-counts',
      { config: forCoordinator, schema: { hide: true, params: z.object({ seasonId: z.uuid() }) } },
      async (request, reply) => {
        const { conferenceId } = sessionOf(request);
        const season = await seasonOf(database, conferenceId, request.params.seasonId);
        const counts = seasonCounts(await inquiriesOfSeason(pool, conferenceId, season.id));
        return reply.page(
          'inquiries/counts',
          {
            season,
            outcomes,
            rows: counts.map(({ category, all, by }) => ({
              category,
              all,
              isAll: category === 'all',
              by: outcomes.map((outcome) => ({ outcome, count: by[outcome] })),
            })),
          },
          { title: 'Inquiries by category and outcome' },
        );
      },
    );
  };
}

/** What the page says once a step is done. */
const doneWords: Readonly<Record<string, string>> = {
  'take up': 'You took it up: the team sees so on its page.',
  'send back': 'Sent back: the team reads why by mail and on its page.',
  'ask the crew': 'Asked: those you chose are told in private, and not who asks.',
  'ask a second reader': 'Asked: the second reader is told. The answer waits for what they hold.',
  review: 'Under review: the team sees so on its page.',
  'set decisive': 'Kept.',
  'release to the crew': 'Those of the crew whom you asked may read the answer now.',
  close: 'Closed.',
};

/** A form of the page as what the API takes: each step has its own fields. */
function handlingIn(form: Form): unknown {
  const step = textOf(form.step);
  const yes = (field: string) => textOf(form[field]) === 'yes';
  const text = (field: string) => textOf(form[field]);
  switch (step) {
    case 'take up':
    case 'set decisive':
      return { step, decisive: yes('decisive') };
    case 'send back':
      return { step, because: text('because'), reason: text('reason') };
    case 'ask the crew':
      return { step, personIds: listOf(form.personIds), asked: text('asked') };
    case 'ask a second reader':
      return { step, personId: text('personId') };
    case 'answer':
      return {
        step,
        ruling: text('ruling'),
        rule: text('rule'),
        reason: text('reason'),
        differs: text('differs'),
        namesMeant: yes('namesMeant'),
      };
    default:
      return { step };
  }
}
