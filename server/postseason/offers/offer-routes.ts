import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { ofSelection, tags } from '../postseason-schemas.ts';
import { readSelection } from '../stores/selection-rows.ts';
import { answerSchema, moreTimeSchema, offerSchema, offerStandings, withdrawalSchema } from './offer.ts';
import { answerOffer } from './stores/answer-store.ts';
import { readOffers, readOwnOffers } from './stores/offer-rows.ts';
import { giveMoreTime, offerPlaces, withdrawOffer } from './stores/offering-store.ts';

const offered = {
  id: z.uuid(),
  slot: z.string().describe('A position, or "alternate 1" and so on.'),
  position: z.enum(positions).describe('Of an alternate, the one they stand by for.'),
  offeredAt: z.string(),
  answerBy: z.string().describe('The last day to answer, in the conference’s time zone.'),
  embargoUntil: z.string().nullable().describe('Until when they are asked to keep it to themselves.'),
  standing: z.enum(offerStandings),
  answeredAt: z.string().nullable().describe('When it was answered or withdrawn.'),
  reason: z.string().describe('The official’s; the coordinator’s where it was withdrawn.'),
};
const offersAnswer = z.array(
  z.object({ ...offered, gameId: z.uuid(), officialId: z.uuid(), offeredBy: z.uuid() }),
);
const ownAnswer = z.array(
  z.object({
    ...offered,
    seasonId: z.uuid(),
    game: z.string(),
    playedOn: z.string(),
    kickoff: z.string().describe('On the clock of the place; empty while not known.'),
    home: z.string().describe('Empty while not known.'),
    visitor: z.string().describe('Empty while not known.'),
    where: z.string().describe('Empty while not known.'),
    open: z.boolean().describe('Answers are still taken.'),
    ask: z.string().describe('Whom to ask: who offered it.'),
  }),
);

/** Offers of chosen places, and officials’ answers, under /api. */
export async function offerRoutes(app: FastifyInstance): Promise<void> {
  const api = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };
  const ofOffer = ofSelection.extend({ offerId: z.uuid() });
  const offersOf = async (conferenceId: string, selectionId: string) => {
    await readSelection(pool, conferenceId, selectionId);
    return readOffers(pool, conferenceId, selectionId);
  };

  api.get(
    '/api/selections/:selectionId/offers',
    {
      config,
      schema: {
        tags,
        summary: 'What was offered to whom, and how it stands; the first first',
        params: ofSelection,
        response: { 200: offersAnswer },
      },
    },
    async (request) => offersOf(sessionOf(request).conferenceId, request.params.selectionId),
  );

  api.post(
    '/api/selections/:selectionId/offers',
    {
      config,
      schema: {
        tags,
        summary: 'Offer chosen places to their officials',
        description:
          'Each official is told. A place is offered to one at a time; what was offered before stays as it was.',
        params: ofSelection,
        body: offerSchema,
        response: { 201: offersAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const { selectionId } = request.params;
      await offerPlaces(pool, session, selectionId, request.body);
      return reply.code(201).send(await offersOf(session.conferenceId, selectionId));
    },
  );

  api.post(
    '/api/selections/:selectionId/offers/:offerId/withdrawal',
    {
      config,
      schema: {
        tags,
        summary: 'Withdraw an offer, also one that was accepted',
        description: 'The official is told the reason. The place is free then; nobody is chosen by it.',
        params: ofOffer,
        body: withdrawalSchema,
        response: { 200: offersAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { selectionId, offerId } = request.params;
      await withdrawOffer(pool, session, selectionId, offerId, request.body.reason);
      return offersOf(session.conferenceId, selectionId);
    },
  );

  api.put(
    '/api/selections/:selectionId/offers/:offerId/answer-by',
    {
      config,
      schema: {
        tags,
        summary: 'Give an official more time to answer',
        params: ofOffer,
        body: moreTimeSchema,
        response: { 200: offersAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { selectionId, offerId } = request.params;
      await giveMoreTime(pool, session, selectionId, offerId, request.body.answerBy);
      return offersOf(session.conferenceId, selectionId);
    },
  );

  api.get(
    '/api/my/postseason-offers',
    {
      config: { policy: policies.official },
      schema: {
        tags,
        summary: 'One’s own offers of places at games after the season, of all seasons',
        response: { 200: ownAnswer },
      },
    },
    async (request) => {
      const { conferenceId, personId } = sessionOf(request);
      return readOwnOffers(pool, conferenceId, personId);
    },
  );

  api.post(
    '/api/my/postseason-offers/:offerId/answer',
    {
      config: { policy: policies.ownOffer },
      schema: {
        tags,
        summary: 'Accept or decline an offer of one’s own',
        description: 'The first answer stands. After the last day the coordinator decides.',
        params: z.object({ offerId: z.uuid() }),
        body: answerSchema,
        response: { 200: ownAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { offerId } = request.params;
      await answerOffer(pool, session, offerId, request.body);
      return readOwnOffers(pool, session.conferenceId, session.personId, offerId);
    },
  );
}
