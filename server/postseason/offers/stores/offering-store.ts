import type pg from 'pg';
import type { PersonActing } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import { conflict } from '../../../web/problem.ts';
import type { ChoiceMade, Selection } from '../../selection.ts';
import { gameOf } from '../../stores/game-store.ts';
import { changing } from '../../stores/selection-store.ts';
import { holdsPlace, type OfferTyped } from '../offer.ts';
import { tellOfOffer } from '../offer-messages.ts';
import { mustHaveReasons } from '../reasons.ts';
import { daysOf, keepDays, mustBeDecided, mustBeHere, nameOf, putOffer } from './making-offers.ts';
import { readOffers } from './offer-rows.ts';
import { mustBeFreeThatDay } from './places-held.ts';

/**
 * Offers one chosen place, or all that were not offered yet, and tells their officials. The selection keeps the days that
 * were typed; offers made before keep theirs.
 * @returns how many were offered
 * @throws Problem 409 before decisions are made, when nothing is left to offer, a reason is missing, or somebody works
 *   elsewhere that day; 400 naming the day that is missing or past; 404 for a place that is not chosen
 */
export async function offerPlaces(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  typed: OfferTyped,
): Promise<number> {
  const { conferenceId } = acting;
  let offered = 0;
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: places offered', async (selection) => {
      mustBeDecided(selection);
      const choices = await placesToOffer(client, conferenceId, selection, typed);
      const days = await daysOf(client, conferenceId, selection, typed);
      await mustHaveReasons(client, conferenceId, selection, choices);
      for (const choice of choices) {
        await mustBeHere(client, conferenceId, choice);
        await mustBeFreeThatDay(client, conferenceId, choice);
      }
      await keepDays(client, conferenceId, selectionId, days);
      for (const choice of choices) {
        const offerId = await putOffer(client, acting, selectionId, choice);
        await tellOfOffer(client, { conferenceId, officialId: choice.officialId, offerId }, 'new');
      }
      offered = choices.length;
      return {
        before: { answerBy: selection.answerBy, embargoUntil: selection.embargoUntil },
        after: {
          ...days,
          offers: choices.map(({ gameId, slot, officialId }) => ({ gameId, slot, officialId })),
        },
      };
    }),
  );
  return offered;
}

async function placesToOffer(
  client: Queryable,
  conferenceId: string,
  selection: Selection,
  { place }: OfferTyped,
): Promise<ChoiceMade[]> {
  const standing = (await readOffers(client, conferenceId, selection.id)).filter((one) =>
    holdsPlace(one.standing),
  );
  const held = (choice: { gameId: string; slot: string }) =>
    standing.find((one) => one.gameId === choice.gameId && one.slot === choice.slot);
  if (place) {
    const game = gameOf(selection, place.gameId);
    const offer = held(place);
    if (offer)
      throw conflict(
        `${place.slot} of ${game.name} was offered to ${await nameOf(client, conferenceId, offer.officialId)} already: nothing was offered twice.`,
      );
    const choice = selection.choices.find((one) => one.gameId === place.gameId && one.slot === place.slot);
    if (!choice) throw conflict(`Nobody is chosen as ${place.slot} of ${game.name}: choose somebody first.`);
    return [choice];
  }
  const open = selection.choices.filter((choice) => !held(choice));
  if (open.length === 0)
    throw conflict(
      selection.choices.length === 0
        ? `Nobody is chosen in ${selection.title} yet: choose first, then offer.`
        : 'Every chosen place was offered already: nothing was offered twice.',
    );
  return open;
}
