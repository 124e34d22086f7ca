import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { errorsOf, type Form, type FormErrors, formOf, textOf } from '../../web/form.ts';
import { playOfInquiry } from '../answer-letter.ts';
import { inquiryAddress, readingSchema, statementSchema } from '../inquiry-schemas.ts';
import { refusedOf } from '../refusals.ts';
import { rulingMeans, rulings } from '../rules/categories-and-rulings.ts';
import { releasedAnswers } from '../rules/released.ts';
import { isOpen } from '../rules/states.ts';
import { readInquiry, roundOf } from '../stores/inquiry-store.ts';
import { giveReading, giveStatement, readingsOf, statementsOf } from '../stores/statement-store.ts';

/** What officials and second readers are asked in private: of which play, and not by whom. */
export async function privatePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const hidden = { hide: true, params: inquiryAddress } as const;
  const ofStatement = { config: { policy: policies.statementOfInquiry }, schema: hidden } as const;
  const ofReading = { config: { policy: policies.secondReaderOfInquiry }, schema: hidden } as const;

  /** Of the inquiry only where and when the play was. */
  async function playFacts(conferenceId: string, inquiryId: string) {
    const inquiry = await readInquiry(pool, conferenceId, inquiryId);
    const { id, game, week, kickoff, timeZone, category, gameId, play, season } = inquiry;
    return {
      inquiry,
      shown: {
        id,
        game,
        week,
        kickoff,
        timeZone,
        category,
        gameId,
        playId: play?.playId,
        playWords: playOfInquiry(inquiry),
        // Closed before the team had its answer, if it waits for one.
        closedUndecided: inquiry.closedSeason && isOpen(inquiry.state) ? season : null,
      },
    };
  }

  async function showStatement(
    request: FastifyRequest,
    reply: FastifyReply,
    inquiryId: string,
    told: { text?: string; wrong?: string | null | undefined } = {},
  ) {
    const { conferenceId, personId, timeZone } = sessionOf(request);
    const { inquiry, shown } = await playFacts(conferenceId, inquiryId);
    const own = (await statementsOf(pool, conferenceId, inquiryId)).find((one) => one.personId === personId);
    return reply.page(
      'inquiries/statement',
      {
        ...shown,
        own,
        text: told.text ?? own?.text ?? '',
        wrong: told.wrong,
        open: own !== undefined && isOpen(inquiry.state) && !inquiry.closedSeason,
        // What the team was told is the crew's to read once the coordinator says so.
        answers: releasedAnswers(inquiry).map((answer) => ({ ...answer, means: rulingMeans[answer.ruling] })),
        sent: textOf(formOf(request.query).done) === 'sent',
        zone: timeZone,
      },
      { title: 'Your statement', width: 'narrow' },
    );
  }

  pages.get('/inquiries/:inquiryId/statement', ofStatement, (request, reply) =>
    showStatement(request, reply, request.params.inquiryId),
  );

  pages.post('/inquiries/:inquiryId/statement', ofStatement, async (request, reply) => {
    const { inquiryId } = request.params;
    const text = textOf(formOf(request.body).text);
    const parsed = statementSchema.safeParse(text);
    const refused = parsed.success
      ? await refusedOf(() =>
          inTransaction(pool, (client) => giveStatement(client, sessionOf(request), inquiryId, parsed.data)),
        )
      : { errors: { text: parsed.error.issues[0]!.message }, wrong: null };
    if (!refused) return reply.redirect(`/inquiries/${inquiryId}/statement?done=sent`, 303);
    const wrong = refused.wrong ?? refused.errors.text;
    return showStatement(request, reply.code(422), inquiryId, { text, wrong });
  });

  async function showReading(
    request: FastifyRequest,
    reply: FastifyReply,
    inquiryId: string,
    typed: Form | null = null,
    errors: FormErrors = {},
    wrong: string | null = null,
  ) {
    const { conferenceId, personId, timeZone } = sessionOf(request);
    const { inquiry, shown } = await playFacts(conferenceId, inquiryId);
    const own = (await readingsOf(pool, conferenceId, inquiryId))
      .filter((one) => one.readerId === personId)
      .at(-1);
    const chosen = typed ? textOf(typed.ruling) : own?.ruling;
    return reply.page(
      'inquiries/reading',
      {
        ...shown,
        own,
        film: inquiry.film,
        newFilm: inquiry.newFilm,
        question: inquiry.question,
        rulings: rulings.map((value) => ({ value, means: rulingMeans[value], chosen: value === chosen })),
        words: typed ? textOf(typed.words) : (own?.words ?? ''),
        open: isOpen(inquiry.state) && !inquiry.closedSeason && own?.round === roundOf(inquiry),
        errors,
        wrong,
        sent: textOf(formOf(request.query).done) === 'sent',
        zone: timeZone,
      },
      { title: 'Second reading', width: 'narrow' },
    );
  }

  pages.get('/inquiries/:inquiryId/second-reading', ofReading, (request, reply) =>
    showReading(request, reply, request.params.inquiryId),
  );

  pages.post('/inquiries/:inquiryId/second-reading', ofReading, async (request, reply) => {
    const { inquiryId } = request.params;
    const form = formOf(request.body);
    const parsed = readingSchema.safeParse({ ruling: textOf(form.ruling), words: textOf(form.words) });
    if (!parsed.success)
      return showReading(request, reply.code(422), inquiryId, form, errorsOf(parsed.error));
    const refused = await refusedOf(() =>
      inTransaction(pool, (client) => giveReading(client, sessionOf(request), inquiryId, parsed.data)),
    );
    if (refused) return showReading(request, reply.code(422), inquiryId, form, refused.errors, refused.wrong);
    return reply.redirect(`/inquiries/${inquiryId}/second-reading?done=sent`, 303);
  });
}
