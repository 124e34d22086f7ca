import type pg from 'pg';
import type { PersonActing } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import type { Position } from '../../../football/positions.ts';
import { isAlternate } from '../../../selection/slots.ts';
import { conflict } from '../../../web/problem.ts';
import { readBasis } from '../../committee/stores/basis-store.ts';
import {
  mustBeUntiedTo,
  putPassOver,
  readDeclined,
  readPassOvers,
} from '../../committee/stores/pass-over-store.ts';
import type { ChoiceMade, Selection } from '../../selection.ts';
import { putChoice } from '../../stores/choice-store.ts';
import { gameOf } from '../../stores/game-store.ts';
import { changing } from '../../stores/selection-store.ts';
import { onceMoved } from '../moving.ts';
import { holdsPlace, type MoveTyped } from '../offer.ts';
import { tellOfMovingUp } from '../offer-messages.ts';
import { daysOf, keepDays, mustBeDecided, mustBeHere, nameOf, putOffer } from './making-offers.ts';
import { readOffers } from './offer-rows.ts';
import { mustBeFreeThatDay, mustNotBeOffered } from './places-held.ts';
import { freePlace } from './standing-store.ts';

/**
 * An alternate takes a place of the same game that is free: chosen for it with the reason, offered it, and told. What they
 * were offered as an alternate no longer stands, without the word that they should not travel. The reason is kept of those
 * ranked higher who are passed over by it, too, where none was recorded.
 * @throws Problem 409 before decisions are made, when the place is not free or nobody is that alternate any more, or when
 *   who decides declared a conflict with one of those compared; 400 naming the field
 */
export async function moveUp(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  typed: MoveTyped,
): Promise<void> {
  const { conferenceId } = acting;
  const { gameId, slot, reason } = typed;
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: alternate moved up', async (selection) => {
      mustBeDecided(selection);
      const from = await alternateOf(client, conferenceId, selection, typed);
      const { officialId } = from;
      const to = {
        gameId,
        slot,
        position: isAlternate(slot) ? from.position : (slot as Position),
        officialId,
      };
      const days = await daysOf(client, conferenceId, selection, typed);
      const earlier = (await readOffers(client, conferenceId, selectionId)).find(
        (one) => one.gameId === gameId && one.slot === from.slot && holdsPlace(one.standing),
      );
      await freePlace(client, conferenceId, from);
      await putChoice(client, acting, selection, to, reason);
      const passedOver = await explain(client, acting, selection, { ...from, ...to, reason });
      // Before it is asked who is taken that day: what they accepted as an alternate is given up for this.
      if (earlier)
        await client.query(
          `UPDATE selection_offer SET answer = 'moved up', answered_at = now() WHERE conference_id = $1 AND id = $2`,
          [conferenceId, earlier.id],
        );
      await mustBeHere(client, conferenceId, { ...from, ...to });
      await mustBeFreeThatDay(client, conferenceId, to);
      await keepDays(client, conferenceId, selectionId, days);
      const offerId = await putOffer(client, acting, selectionId, to);
      await tellOfMovingUp(client, { conferenceId, officialId, offerId, earlier: earlier ?? null });
      return {
        before: { gameId, slot: from.slot, position: from.position, officialId },
        after: { ...to, ...days, passedOver },
        reason,
      };
    }),
  );
}

/** @throws Problem 409 naming what is no longer so */
async function alternateOf(
  client: Queryable,
  conferenceId: string,
  selection: Selection,
  { gameId, slot, alternate }: MoveTyped,
): Promise<ChoiceMade> {
  const game = gameOf(selection, gameId);
  const at = (wanted: string) =>
    selection.choices.find((one) => one.gameId === gameId && one.slot === wanted);
  const taken = at(slot);
  if (taken)
    throw conflict(
      `${await nameOf(client, conferenceId, taken.officialId)} is chosen as ${slot} of ${game.name}: nobody moves up to a place that is not free.`,
    );
  await mustNotBeOffered(client, conferenceId, { gameId, slot });
  const from = at(alternate);
  if (!from) throw conflict(`Nobody is ${alternate} of ${game.name} any more: look at it again.`);
  return from;
}

/** Keeps the reason of everybody passed over who has none yet. @returns whom */
async function explain(
  client: Queryable,
  acting: PersonActing,
  selection: Selection,
  moved: ChoiceMade,
): Promise<string[]> {
  const { conferenceId } = acting;
  const basis = await readBasis(client, conferenceId, selection.id);
  if (!basis) throw conflict(`The candidates of ${selection.title} were not kept: decide on them first.`);
  const place = onceMoved(selection, moved, {
    basis,
    recorded: await readPassOvers(client, conferenceId, selection.id),
    declined: await readDeclined(client, conferenceId, selection.id),
  });
  await mustBeUntiedTo(client, acting, selection.id, [
    moved.officialId,
    ...place.passedOver.map(({ officialId }) => officialId),
  ]);
  const without = place.passedOver.filter(({ recorded }) => !recorded);
  for (const over of without)
    await putPassOver(client, acting, selection.id, moved, { ...over, reason: moved.reason });
  return without.map(({ officialId }) => officialId);
}
