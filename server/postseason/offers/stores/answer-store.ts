import type pg from 'pg';
import type { PersonActing, PersonInZone } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import { day, moment } from '../../../web/format.ts';
import { conflict, notFound } from '../../../web/problem.ts';
import type { Selection } from '../../selection.ts';
import { changing } from '../../stores/selection-store.ts';
import type { AnswerTyped, Offer, OwnOffer } from '../offer.ts';
import { tellOfDeclining } from '../offer-messages.ts';
import { nameOf } from './making-offers.ts';
import { readOffers, readOwnOffers } from './offer-rows.ts';
import { mustBeFreeThatDay } from './places-held.ts';
import { freePlace } from './standing-store.ts';

/**
 * An official answers an offer of their own. The same answer sent again changes nothing.
 * @throws Problem 404 for another's offer; 409 after the last day, when it was answered otherwise or withdrawn, naming
 *   whom to ask; 409 when they have accepted another game that day
 */
export async function answerOffer(
  pool: pg.Pool,
  acting: PersonInZone,
  offerId: string,
  { answer, reason }: AnswerTyped,
): Promise<void> {
  const { conferenceId, personId } = acting;
  await inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ selectionId: string }>(
      `SELECT selection_id AS "selectionId" FROM selection_offer
        WHERE conference_id = $1 AND id = $2 AND official_id = $3`,
      [conferenceId, offerId, personId],
    );
    if (!rows[0]) throw notFound('offer');
    const { selectionId } = rows[0];
    await changing(client, acting, selectionId, `selection: offer ${answer}`, async (selection) => {
      // Read once the selection is held: of two answers at once the second sees the first.
      const [own] = await readOwnOffers(client, conferenceId, personId, offerId);
      const offer = (await readOffers(client, conferenceId, selectionId)).find(({ id }) => id === offerId);
      if (!own || !offer) throw notFound('offer');
      if (own.standing === answer) return null;
      mustWait(own, acting.timeZone);
      if (selection.state === 'closed')
        throw conflict(`Nothing is answered any more: ${own.game} is settled. Ask ${own.ask}.`);
      await keepAnswer(client, acting, selection, offer, { answer, reason, recorded: null });
      const { gameId, slot, officialId } = offer;
      return {
        before: selection.choices.find((one) => one.gameId === gameId && one.slot === slot),
        after: { gameId, slot, officialId, standing: answer },
        reason,
      };
    });
  });
}

/**
 * Keeps an answer, in a transaction that holds the selection: a declined place is free, and the coordinators are told.
 * @param given.recorded who took the call, and when, where the person acting writes down what the official said
 * @throws Problem 409 when they have accepted another game that day
 */
export async function keepAnswer(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  { id: selectionId }: Selection,
  offer: Offer,
  { answer, reason, recorded }: AnswerTyped & { readonly recorded: string | null },
): Promise<void> {
  const { id: offerId, officialId } = offer;
  if (answer === 'accepted') await mustBeFreeThatDay(client, conferenceId, offer);
  await client.query(
    `UPDATE selection_offer SET answer = $3, answered_at = now(), reason = $4, recorded_by = $5, recorded_note = $6
      WHERE conference_id = $1 AND id = $2`,
    [conferenceId, offerId, answer, reason, recorded === null ? null : personId, recorded ?? ''],
  );
  if (answer === 'accepted') return;
  await freePlace(client, conferenceId, offer);
  const official = await nameOf(client, conferenceId, officialId);
  const told = { conferenceId, officialId, offerId, selectionId, official, actorId: personId };
  await tellOfDeclining(client, told);
}

/** @throws Problem 409 with a sentence that names whom to ask */
function mustWait(offer: OwnOffer, timeZone: string): void {
  const { standing, ask, recorder } = offer;
  const at = offer.answeredAt ? moment(offer.answeredAt, timeZone) : '';
  if (standing === 'overdue')
    throw conflict(
      `The last day to answer was ${day(offer.answerBy)}; the coordinator decides now: ask ${ask}.`,
    );
  if (standing === 'accepted' || standing === 'declined')
    throw conflict(
      recorder
        ? `${recorder} wrote down on ${at} that you ${standing} this offer; if that is not so, tell ${recorder}.`
        : `You ${standing} this offer on ${at}, and the first answer stands; if that has changed, tell ${ask}.`,
    );
  if (standing === 'moved up')
    throw conflict('You were offered another place of this game instead: answer that offer.');
  if (standing === 'withdrawn')
    throw conflict(`This offer was taken back on ${at}, so it cannot be answered: ask ${ask}.`);
}
