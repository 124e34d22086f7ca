import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../../accounts/policy.ts';
import { counted, ofSeasonInView } from '../../../schedule/pages/elsewhere.ts';
import { errorsOf, formOf, textOf } from '../../../web/form.ts';
import { refusedIn } from '../../pages/doing.ts';
import { answerSchema, type OwnOffer, placeWords } from '../offer.ts';
import { teamsInWords } from '../offer-messages.ts';
import { answerOffer } from '../stores/answer-store.ts';
import { readOwnOffers } from '../stores/offer-rows.ts';

const ofOffer = z.object({ offerId: z.uuid() });

const done = {
  accepted: 'You have accepted. The conference knows it now.',
  declined: 'You have declined. The conference knows it now.',
} as const;

/** What somebody typed, kept where it was refused. */
interface Typed {
  readonly offerId: string;
  readonly reason: string;
  readonly wrong: string;
}

/** An official's own offers: what, where, when, until when to answer, and the answer. Nothing of anybody else. */
export async function ownOfferPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    told: { done?: string | undefined; typed?: Typed },
  ) {
    const { conferenceId, personId, timeZone } = sessionOf(request);
    const { here, elsewhere } = ofSeasonInView(
      request,
      await readOwnOffers(pool, conferenceId, personId),
      (others) => counted(others.length, 'offer'),
    );
    return reply.page(
      'postseason/own-offers',
      {
        ...{ elsewhere, timeZone, done: told.done },
        refused: told.typed?.wrong,
        offers: here.map((offer) => ownView(offer, told.typed)),
      },
      { title: 'My postseason' },
    );
  }

  pages.get(
    '/my/postseason',
    {
      config: { policy: policies.official },
      schema: { hide: true, querystring: z.object({ done: z.string().optional() }) },
    },
    async (request, reply) => {
      const said = Object.entries(done).find(([key]) => key === request.query.done)?.[1];
      return show(request, reply, { done: said });
    },
  );

  pages.post(
    '/my/postseason/:offerId',
    { config: { policy: policies.ownOffer }, schema: { hide: true, params: ofOffer } },
    async (request, reply) => {
      const { offerId } = request.params;
      const form = formOf(request.body);
      const typed = { answer: textOf(form.answer), reason: textOf(form.reason) };
      const parsed = answerSchema.safeParse(typed);
      if (!parsed.success) {
        const wrong = Object.values(errorsOf(parsed.error)).join('; ');
        reply.code(400);
        return show(request, reply, {
          typed: { offerId, reason: typed.reason, wrong: `Not kept: ${wrong}.` },
        });
      }
      try {
        await answerOffer(pool, sessionOf(request), offerId, parsed.data);
      } catch (error) {
        const { status, sentence } = refusedIn(error);
        reply.code(status);
        return show(request, reply, { typed: { offerId, reason: typed.reason, wrong: sentence } });
      }
      return reply.redirect(`/my/postseason?done=${parsed.data.answer}`, 303);
    },
  );
}

/** @param now of the embargo */
function ownView(offer: OwnOffer, typed: Typed | undefined, now = new Date()) {
  const { standing } = offer;
  const inTime = standing !== 'declined' && standing !== 'withdrawn' && standing !== 'moved up';
  return {
    ...offer,
    place: placeWords(offer),
    teams: teamsInWords(offer),
    isAccepted: standing === 'accepted',
    isDeclined: standing === 'declined',
    isWithdrawn: standing === 'withdrawn',
    isMovedUp: standing === 'moved up',
    isRecorded: offer.recorder !== null && (standing === 'accepted' || standing === 'declined'),
    isOverdue: standing === 'overdue',
    // Once nothing is open and nothing was said, there is nothing more to answer.
    isSettled: standing === 'waiting' && !offer.open,
    keepSecret: inTime && offer.embargoUntil !== null && new Date(offer.embargoUntil) > now,
    typedReason: typed?.offerId === offer.id ? typed.reason : '',
  };
}
