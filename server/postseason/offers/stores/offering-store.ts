import type pg from 'pg';
import type { PersonActing } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import { conflict, type FieldProblem, invalid, notFound } from '../../../web/problem.ts';
import type { ChoiceMade, Selection } from '../../selection.ts';
import { gameOf } from '../../stores/game-store.ts';
import { changing } from '../../stores/selection-store.ts';
import { holdsPlace, type Offer, type OfferTyped, placeWords } from '../offer.ts';
import { tellOfOffer, tellOfWithdrawal } from '../offer-messages.ts';
import { mustHaveReasons } from '../reasons.ts';
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
  const { conferenceId, personId } = acting;
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
      await client.query(
        `UPDATE selection s SET state = 'offered', answer_by = $3, embargo_until = $4::timestamp AT TIME ZONE c.time_zone
           FROM conference c WHERE c.id = s.conference_id AND s.conference_id = $1 AND s.id = $2`,
        [conferenceId, selectionId, days.answerBy, days.embargoUntil],
      );
      for (const { gameId, slot, position, officialId } of choices) {
        const { rows } = await client.query<{ id: string }>(
          `INSERT INTO selection_offer
             (conference_id, selection_id, game_id, slot, position, official_id, offered_by, answer_by, embargo_until)
           SELECT $1, $2, $3, $4, $5, $6, $7, s.answer_by, s.embargo_until
             FROM selection s WHERE s.conference_id = $1 AND s.id = $2 RETURNING id`,
          [conferenceId, selectionId, gameId, slot, position, officialId, personId],
        );
        await tellOfOffer(client, { conferenceId, officialId, offerId: rows[0]!.id }, 'new');
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

function mustBeDecided({ state, title }: Selection): void {
  if (state === 'preparing' || state === 'sealed voting')
    throw conflict(
      `${title} is not decided yet (${state}): places are offered once ballots are opened and choices made.`,
    );
  if (state === 'closed') throw conflict(`${title} is closed: nothing is offered any more.`);
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

/** The days that offers get, in the conference's zone. @throws Problem 400 naming each that is missing or past */
async function daysOf(
  client: Queryable,
  conferenceId: string,
  selection: Selection,
  typed: OfferTyped,
): Promise<{ answerBy: string; embargoUntil: string }> {
  const { today, moment } = await conferencesNow(client, conferenceId);
  const answerBy = typed.answerBy ?? selection.answerBy;
  const embargoUntil = typed.embargoUntil ?? selection.embargoUntil;
  const errors: FieldProblem[] = [];
  if (!answerBy) errors.push({ field: 'answerBy', message: 'say the last day to answer' });
  else if (answerBy < today)
    errors.push({ field: 'answerBy', message: 'is past; choose today or a later day' });
  if (!embargoUntil)
    errors.push({ field: 'embargoUntil', message: 'say until when it is to be kept to themselves' });
  // One that was set before may have passed: who is offered a place later has nothing to keep any more.
  else if (embargoUntil < moment && embargoUntil !== selection.embargoUntil)
    errors.push({ field: 'embargoUntil', message: 'is past; choose a later day and time' });
  if (!answerBy || !embargoUntil || errors.length > 0) throw invalid(errors);
  return { answerBy, embargoUntil };
}

async function conferencesNow(client: Queryable, conferenceId: string) {
  const { rows } = await client.query<{ today: string; moment: string }>(
    `SELECT to_char(now() AT TIME ZONE time_zone, 'YYYY-MM-DD') AS today,
            to_char(now() AT TIME ZONE time_zone, 'YYYY-MM-DD"T"HH24:MI') AS moment
       FROM conference WHERE id = $1`,
    [conferenceId],
  );
  return rows[0]!;
}

async function mustBeHere(client: Queryable, conferenceId: string, { officialId, slot }: ChoiceMade) {
  const { rows } = await client.query<{ name: string; here: boolean }>(
    `SELECT p.given_name || ' ' || p.family_name AS name,
            p.active AND EXISTS (SELECT FROM person_role r WHERE r.conference_id = $1 AND r.person_id = p.id
                                                             AND r.role = 'official') AS here
       FROM person p WHERE p.conference_id = $1 AND p.id = $2`,
    [conferenceId, officialId],
  );
  if (!rows[0]?.here)
    throw conflict(
      `${rows[0]?.name ?? 'Whoever is chosen'} is no official of the conference any more: choose another as ${slot} first.`,
    );
}

async function nameOf(client: Queryable, conferenceId: string, personId: string): Promise<string> {
  const { rows } = await client.query<{ name: string }>(
    `SELECT given_name || ' ' || family_name AS name FROM person WHERE conference_id = $1 AND id = $2`,
    [conferenceId, personId],
  );
  return rows[0]?.name ?? '';
}

/** @throws Problem 404; 409 when it holds no place any more */
async function standingOffer(
  client: Queryable,
  conferenceId: string,
  selection: Selection,
  offerId: string,
): Promise<Offer> {
  const offer = (await readOffers(client, conferenceId, selection.id)).find(({ id }) => id === offerId);
  if (!offer) throw notFound('offer of the selection');
  if (holdsPlace(offer.standing)) return offer;
  const name = await nameOf(client, conferenceId, offer.officialId);
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
          { field: 'answerBy', message: `must be later than ${before.answerBy}, and not be past` },
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
