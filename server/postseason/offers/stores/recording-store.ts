import type pg from 'pg';
import type { PersonInZone } from '../../../accounts/acting.ts';
import { inTransaction } from '../../../database/transaction.ts';
import { moment } from '../../../web/format.ts';
import { conflict } from '../../../web/problem.ts';
import { changing } from '../../stores/selection-store.ts';
import { placeWords, type RecordedTyped } from '../offer.ts';
import { tellOfRecording } from '../offer-messages.ts';
import { keepAnswer } from './answer-store.ts';
import { mustBeDecided, nameOf } from './making-offers.ts';
import { standingOffer } from './standing-store.ts';

/**
 * Writes down what an official answered by telephone, also after the last day; they are told at once. An answer that was
 * given already stays.
 * @throws Problem 404; 409 when it was answered or withdrawn, saying how, or when they have accepted another game that day
 */
export async function recordAnswer(
  pool: pg.Pool,
  acting: PersonInZone,
  selectionId: string,
  offerId: string,
  { answer, note, reason }: RecordedTyped,
): Promise<void> {
  const { conferenceId, timeZone } = acting;
  const action = `selection: offer ${answer} by telephone`;
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, action, async (selection) => {
      mustBeDecided(selection);
      const offer = await standingOffer(client, conferenceId, selection, offerId);
      const { gameId, slot, officialId, answeredAt } = offer;
      if (offer.standing === 'accepted')
        throw conflict(
          `${await nameOf(client, conferenceId, officialId)} accepted ${placeWords(offer)} on ${moment(answeredAt, timeZone)} already, and the first answer stands: if they cannot work it after all, withdraw the offer, with the reason.`,
        );
      await keepAnswer(client, acting, selection, offer, { answer, reason, recorded: note });
      await tellOfRecording(client, { conferenceId, officialId, offerId });
      return {
        before: selection.choices.find((one) => one.gameId === gameId && one.slot === slot),
        after: { gameId, slot, officialId, standing: answer, said: reason },
        reason: note,
      };
    }),
  );
}
