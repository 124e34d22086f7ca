import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { type FormErrors, formOf, textOf } from '../../web/form.ts';
import { inquiryAddress, newFilmSchema } from '../inquiry-schemas.ts';
import { type Refused, refusedOf } from '../refusals.ts';
import { windowEnd } from '../rules/limits.ts';
import { plainPlaysOf, readInquiry } from '../stores/inquiry-store.ts';
import { readInquirySetting } from '../stores/setting-store.ts';
import type { TeamGame } from '../stores/team-store.ts';
import {
  changeDraft,
  closeInquiry,
  gameToAskAbout,
  makeDraft,
  removeDraft,
  reopenInquiry,
  sendInquiry,
  type Written,
} from '../stores/write-store.ts';
import { type Asked, askChoices, askedIn, askedOf, writtenFrom } from './ask-form.ts';
import { inquiryView } from './inquiry-view.ts';

const ofGame = z.object({ gameId: z.uuid() });
const nothing: Asked = {
  playId: '',
  quarter: '',
  clock: '',
  notInLog: false,
  category: '',
  film: '',
  question: '',
};

/** Where a team's contact asks about a play, and reads the answer. */
export async function askPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const aboutGame = {
    config: { policy: policies.gameOfOwnTeam },
    schema: { hide: true, params: ofGame },
  } as const;
  const aboutInquiry = {
    config: { policy: policies.ownTeamsInquiry },
    schema: { hide: true, params: inquiryAddress },
  } as const;

  async function showForm(
    request: FastifyRequest,
    reply: FastifyReply,
    game: TeamGame,
    asked: Asked,
    more: { draftId?: string; refused?: Refused; errors?: FormErrors; kept?: boolean } = {},
  ) {
    const { conferenceId } = sessionOf(request);
    const plays = await plainPlaysOf(pool, conferenceId, game.gameId);
    const errors = more.errors ?? more.refused?.errors ?? {};
    const setting = await readInquirySetting(pool, conferenceId);
    const until = windowEnd(game.kickoff, setting);
    return reply.page(
      'inquiries/ask',
      {
        game,
        asked,
        ...{ setting, until, late: until < new Date() && errors.gameId === undefined },
        action: more.draftId ? `/my/inquiries/${more.draftId}` : `/my/inquiries/games/${game.gameId}`,
        ...more,
        ...askChoices(plays, asked),
        errors,
        wrong: more.refused?.wrong ?? errors.gameId ?? null,
        // Shown where it can matter: the typed clock has its own place below the list.
        typed:
          asked.playId === '' && (asked.quarter !== '' || asked.clock !== '' || errors.clock !== undefined),
      },
      { title: 'Ask about a play', width: 'narrow' },
    );
  }

  pages.get('/my/inquiries/games/:gameId', aboutGame, async (request, reply) => {
    const game = await gameToAskAbout(pool, sessionOf(request), request.params.gameId);
    return showForm(request, reply, game, nothing);
  });

  /** Keeps what was typed first, so that a refusal loses nothing; then sends it, if that was wanted. */
  async function keepAndSend(
    request: FastifyRequest,
    reply: FastifyReply,
    game: TeamGame,
    draftId: string | null,
  ) {
    const acting = sessionOf(request);
    const form = formOf(request.body);
    const asked = askedIn(form);
    const { written, errors } = writtenFrom(game.gameId, asked);
    const known = draftId === null ? {} : { draftId };
    if (written === null) return showForm(request, reply.code(422), game, asked, { ...known, errors });
    let inquiryId = draftId;
    const notKept = await refusedOf(() =>
      inTransaction(pool, async (client) => {
        if (draftId === null) inquiryId = await makeDraft(client, acting, written);
        else await changeDraft(client, acting, draftId, written);
      }),
    );
    if (notKept && draftId !== null && (await isSent(acting, draftId, written)))
      return reply.redirect(`/my/inquiries/${draftId}?done=already`, 303);
    if (notKept || inquiryId === null)
      return showForm(request, reply.code(422), game, asked, {
        ...known,
        ...(notKept ? { refused: notKept } : {}),
      });
    const id = inquiryId;
    if (textOf(form.doing) === 'keep') return reply.redirect('/my/inquiries', 303);
    let sentId = id;
    const refused = await refusedOf(() =>
      inTransaction(pool, async (client) => {
        sentId = (await sendInquiry(client, acting, id, written)).id;
      }),
    );
    if (refused) return showForm(request, reply.code(422), game, asked, { draftId: id, refused, kept: true });
    app.outbox.wake();
    return reply.redirect(`/my/inquiries/${sentId}?done=${sentId === id ? 'sent' : 'already'}`, 303);
  }

  /** Whether a draft went out as it is written here: its form was sent twice. */
  async function isSent({ conferenceId }: PersonActing, draftId: string, written: Written) {
    const { state, question, category } = await readInquiry(pool, conferenceId, draftId);
    return state !== 'draft' && question === written.question && category === written.category;
  }

  pages.post('/my/inquiries/games/:gameId', aboutGame, async (request, reply) => {
    const game = await gameToAskAbout(pool, sessionOf(request), request.params.gameId);
    return keepAndSend(request, reply, game, null);
  });

  async function showInquiry(
    request: FastifyRequest,
    reply: FastifyReply,
    inquiryId: string,
    more: { refused?: Refused; newFilm?: string } = {},
  ) {
    const acting = sessionOf(request);
    const inquiry = await readInquiry(pool, acting.conferenceId, inquiryId);
    if (inquiry.state === 'draft') {
      const game = await gameToAskAbout(pool, acting, inquiry.gameId);
      return showForm(request, reply, game, askedOf(inquiry), { draftId: inquiryId, ...more });
    }
    return reply.page(
      'inquiries/own-inquiry',
      {
        ...inquiryView(inquiry),
        sent: textOf(formOf(request.query).done) === 'sent',
        already: textOf(formOf(request.query).done) === 'already',
        wrong: more.refused?.wrong ?? null,
        errors: more.refused?.errors ?? {},
        typedFilm: more.newFilm ?? '',
        zone: acting.timeZone,
      },
      { title: inquiryView(inquiry).title, width: 'narrow' },
    );
  }

  pages.get('/my/inquiries/:inquiryId', aboutInquiry, (request, reply) =>
    showInquiry(request, reply, request.params.inquiryId),
  );

  pages.post('/my/inquiries/:inquiryId', aboutInquiry, async (request, reply) => {
    const acting = sessionOf(request);
    const { inquiryId } = request.params;
    const inquiry = await readInquiry(pool, acting.conferenceId, inquiryId);
    const game = await gameToAskAbout(pool, acting, inquiry.gameId);
    return keepAndSend(request, reply, game, inquiryId);
  });

  pages.post('/my/inquiries/:inquiryId/throw-away', aboutInquiry, async (request, reply) => {
    const refused = await refusedOf(() =>
      inTransaction(pool, (client) => removeDraft(client, sessionOf(request), request.params.inquiryId)),
    );
    if (refused) return showInquiry(request, reply.code(422), request.params.inquiryId, { refused });
    return reply.redirect('/my/inquiries', 303);
  });

  pages.post('/my/inquiries/:inquiryId/close', aboutInquiry, async (request, reply) => {
    const { inquiryId } = request.params;
    const refused = await refusedOf(() =>
      inTransaction(pool, (client) => closeInquiry(client, sessionOf(request), inquiryId)),
    );
    if (refused) return showInquiry(request, reply.code(422), inquiryId, { refused });
    return reply.redirect(`/my/inquiries/${inquiryId}`, 303);
  });

  pages.post('/my/inquiries/:inquiryId/reopen', aboutInquiry, async (request, reply) => {
    const { inquiryId } = request.params;
    const typed = textOf(formOf(request.body).newFilm);
    const parsed = newFilmSchema.safeParse(typed);
    const refused = parsed.success
      ? await refusedOf(() =>
          inTransaction(pool, (client) => reopenInquiry(client, sessionOf(request), inquiryId, parsed.data)),
        )
      : { errors: { newFilm: parsed.error.issues[0]!.message }, wrong: null };
    if (refused) return showInquiry(request, reply.code(422), inquiryId, { refused, newFilm: typed });
    app.outbox.wake();
    return reply.redirect(`/my/inquiries/${inquiryId}?done=sent`, 303);
  });
}
