import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { positions } from '../../football/positions.ts';
import { ofSelection, tags } from '../postseason-schemas.ts';
import { readSelection } from '../stores/selection-rows.ts';
import {
  answerSchema,
  moreTimeSchema,
  moveSchema,
  offerSchema,
  offerStandings,
  recordedSchema,
  withdrawalSchema,
} from './offer.ts';
import { answerOffer } from './stores/answer-store.ts';
import { moveUp } from './stores/moving-store.ts';
import { readOffers, readOwnOffers } from './stores/offer-rows.ts';
import { offerPlaces } from './stores/offering-store.ts';
import { recordAnswer } from './stores/recording-store.ts';
import { giveMoreTime, withdrawOffer } from './stores/standing-store.ts';

const offered = {
  id: z.uuid(),
  slot: z.string().describe('A position, or "alternate 1" and so on.'),
  position: z.enum(positions).describe('Of an alternate, the one they stand by for.'),
  offeredAt: z.string(),
  answerBy: z.string().describe('The last day to answer, in the conference’s time zone.'),
  embargoUntil: z.string().nullable().describe('Until when they are asked to keep it to themselves.'),
  standing: z.enum(offerStandings),
  answeredAt: z
    .string()
    .nullable()
    .describe('When it was answered, withdrawn or given up for another place.'),
  reason: z.string().describe('The official’s; the coordinator’s where it was withdrawn.'),
  recordedNote: z
    .string()
    .describe('Who took the call, and when, where the official answered by telephone; else empty.'),
};
const offersAnswer = z.array(
  z.object({
    ...{ ...offered, gameId: z.uuid(), officialId: z.uuid(), offeredBy: z.uuid() },
    recordedBy: z.uuid().nullable().describe('Who wrote an answer by telephone down.'),
  }),
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
    recorder: z.string().nullable().describe('Who wrote the answer down; null where it was given here.'),
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

  api.post(
    '/api/selections/:selectionId/offers/:offerId/recorded-answer',
    {
      config,
      schema: {
        tags,
        summary: 'Write down what an official answered by telephone',
        description:
          'The official is told, and both sides read who wrote it down. An answer that was given already stays.',
        params: ofOffer,
        body: recordedSchema,
        response: { 200: offersAnswer },
      },
    },
    async (request) => {
      const session = sessionOf(request);
      const { selectionId, offerId } = request.params;
      await recordAnswer(pool, session, selectionId, offerId, request.body);
      return offersOf(session.conferenceId, selectionId);
    },
  );

  api.post(
    '/api/selections/:selectionId/offers/move-up',
    {
      config,
      schema: {
        tags,
        summary: 'Offer a free place to an alternate of the same game, who gives up the place offered before',
        description:
          'The alternate is chosen for the place with the reason, which is kept of those passed over too, and offered it. They are told of one new place, not of a withdrawal.',
        params: ofSelection,
        body: moveSchema,
        response: { 201: offersAnswer },
      },
    },
    async (request, reply) => {
      const session = sessionOf(request);
      const { selectionId } = request.params;
      await moveUp(pool, session, selectionId, request.body);
      return reply.code(201).send(await offersOf(session.conferenceId, selectionId));
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
