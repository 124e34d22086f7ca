import type { Queryable } from '../../database/transaction.ts';
import { tell, tellCoordinators } from '../../messages/tell.ts';
import { type Offer, type OwnOffer, placeWords } from './offer.ts';
import { readOwnOffers } from './stores/offer-rows.ts';

const factsOf = (offer: OwnOffer) => ({
  game: offer.game,
  place: placeWords(offer),
  playedOn: offer.playedOn,
  kickoff: offer.kickoff,
  teams: teamsInWords(offer),
  where: offer.where,
});

/** `Visitor at Home`, as far as they are known; empty where neither is. */
export const teamsInWords = ({ home, visitor }: Pick<OwnOffer, 'home' | 'visitor'>): string =>
  home || visitor ? `${visitor || 'a team not known yet'} at ${home || 'a team not known yet'}` : '';

type Told = { readonly conferenceId: string; readonly officialId: string; readonly offerId: string };

const own = async (client: Queryable, { conferenceId, officialId, offerId }: Told): Promise<OwnOffer> =>
  (await readOwnOffers(client, conferenceId, officialId, offerId))[0]!;

/** Tells an official of an offer, or that there is more time to answer it; in the transaction that makes it so. */
export async function tellOfOffer(client: Queryable, told: Told, what: 'new' | 'more time'): Promise<void> {
  const offer = await own(client, told);
  const { answerBy, embargoUntil } = offer;
  await tell(client, {
    conferenceId: told.conferenceId,
    personIds: [told.officialId],
    kind: 'postseason offer',
    aboutId: told.offerId,
    facts: { ...factsOf(offer), what, answerBy, embargoUntil },
  });
}

/**
 * Tells an alternate of the offer of another place of the same game, and that it takes the place of the earlier one.
 * @param earlier what they were offered as an alternate; null where they were offered nothing yet
 */
export async function tellOfMovingUp(
  client: Queryable,
  told: Told & { readonly earlier: Pick<Offer, 'slot' | 'position'> | null },
): Promise<void> {
  if (!told.earlier) return tellOfOffer(client, told, 'new');
  const offer = await own(client, told);
  const { answerBy, embargoUntil } = offer;
  await tell(client, {
    conferenceId: told.conferenceId,
    personIds: [told.officialId],
    kind: 'postseason offer',
    aboutId: told.offerId,
    facts: { ...factsOf(offer), what: 'moved up', answerBy, embargoUntil, instead: placeWords(told.earlier) },
  });
}

/** Tells an official what a coordinator wrote down as their answer, so that nobody answers for them unseen. */
export async function tellOfRecording(client: Queryable, told: Told): Promise<void> {
  const offer = await own(client, told);
  await tell(client, {
    conferenceId: told.conferenceId,
    personIds: [told.officialId],
    kind: 'postseason answer recorded',
    aboutId: told.offerId,
    facts: {
      ...factsOf(offer),
      answer: offer.standing === 'declined' ? 'declined' : 'accepted',
      by: offer.recorder ?? '',
      note: offer.recordedNote,
      reason: offer.reason,
    },
  });
}

export async function tellOfWithdrawal(client: Queryable, told: Told): Promise<void> {
  const offer = await own(client, told);
  await tell(client, {
    conferenceId: told.conferenceId,
    personIds: [told.officialId],
    kind: 'postseason offer withdrawn',
    aboutId: told.offerId,
    facts: { ...factsOf(offer), reason: offer.reason },
  });
}

/** A place is free again. @param told.actorId whose doing it is: nobody is told of their own */
export async function tellOfDeclining(
  client: Queryable,
  told: Told & { readonly actorId: string; readonly selectionId: string; readonly official: string },
): Promise<void> {
  const { game, slot, position, reason } = await own(client, told);
  await tellCoordinators(client, {
    conferenceId: told.conferenceId,
    actorId: told.actorId,
    kind: 'postseason offer declined',
    aboutId: told.selectionId,
    facts: { official: told.official, game, place: placeWords({ slot, position }), reason },
  });
}
