import type pg from 'pg';
import type { PersonActing } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import { day } from '../../../web/format.ts';
import { conflict, invalid, notFound } from '../../../web/problem.ts';
import type { Selection } from '../../selection.ts';
import { changing } from '../../stores/selection-store.ts';
import { holdsPlace, type Offer, placeWords } from '../offer.ts';
import { tellOfOffer, tellOfWithdrawal } from '../offer-messages.ts';
import { conferencesNow, nameOf } from './making-offers.ts';
import { readOffers } from './offer-rows.ts';

/** @throws Problem 404; 409 when it holds no place any more */
export async function standingOffer(
  client: Queryable,
  conferenceId: string,
  selection: Selection,
  offerId: string,
): Promise<Offer> {
  const offer = (await readOffers(client, conferenceId, selection.id)).find(({ id }) => id === offerId);
  if (!offer) throw notFound('offer of the selection');
  if (holdsPlace(offer.standing)) return offer;
  const name = await nameOf(client, conferenceId, offer.officialId);
  if (offer.standing === 'moved up')
    throw conflict(
      `${name} was offered another place of the game instead: the offer of ${placeWords(offer)} no longer stands.`,
    );
  throw conflict(
    offer.standing === 'declined'
      ? `${name} has declined ${placeWords(offer)} already: the place is free.`
      : `The offer to ${name} was withdrawn already: the place is free.`,
  );
}

/**
 * Takes an offer back, also one that was accepted; the official is told why. The place is free then, and nobody is chosen
 * for it by itself.
 * @throws Problem 404; 409 when it was declined or withdrawn already
 */
export async function withdrawOffer(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  offerId: string,
  reason: string,
): Promise<void> {
  const { conferenceId } = acting;
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: offer withdrawn', async (selection) => {
      const before = await standingOffer(client, conferenceId, selection, offerId);
      await client.query(
        `UPDATE selection_offer SET answer = 'withdrawn', answered_at = now(), reason = $3
          WHERE conference_id = $1 AND id = $2`,
        [conferenceId, offerId, reason],
      );
      await freePlace(client, conferenceId, before);
      await tellOfWithdrawal(client, { conferenceId, officialId: before.officialId, offerId });
      return { before, after: { gameId: before.gameId, slot: before.slot, standing: 'withdrawn' }, reason };
    }),
  );
}

/**
 * A later last day for an offer that is not answered, also after its own has passed; the official is told.
 * @throws Problem 404; 400 for a day that is past; 409 when it was answered or withdrawn
 */
export async function giveMoreTime(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  offerId: string,
  answerBy: string,
): Promise<void> {
  const { conferenceId } = acting;
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: more time to answer', async (selection) => {
      const before = await standingOffer(client, conferenceId, selection, offerId);
      const name = await nameOf(client, conferenceId, before.officialId);
      if (before.standing === 'accepted') throw conflict(`${name} has accepted already.`);
      const { today } = await conferencesNow(client, conferenceId);
      if (answerBy < today || answerBy <= before.answerBy)
        throw invalid([
          { field: 'answerBy', message: `must be later than ${day(before.answerBy)}, and not be past` },
        ]);
      await client.query('UPDATE selection_offer SET answer_by = $3 WHERE conference_id = $1 AND id = $2', [
        conferenceId,
        offerId,
        answerBy,
      ]);
      await tellOfOffer(client, { conferenceId, officialId: before.officialId, offerId }, 'more time');
      const { gameId, slot, officialId } = before;
      return {
        before: { gameId, slot, officialId, answerBy: before.answerBy },
        after: { gameId, slot, officialId, answerBy },
      };
    }),
  );
}

/** The choice of an offer that no longer stands goes; the history keeps it, with its reason. */
export async function freePlace(
  client: Queryable,
  conferenceId: string,
  { gameId, slot, officialId }: Pick<Offer, 'gameId' | 'slot' | 'officialId'>,
): Promise<void> {
  await client.query(
    'DELETE FROM selection_choice WHERE conference_id = $1 AND game_id = $2 AND slot = $3 AND official_id = $4',
    [conferenceId, gameId, slot, officialId],
  );
}
