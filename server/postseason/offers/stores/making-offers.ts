import type { PersonActing } from '../../../accounts/acting.ts';
import type { Queryable } from '../../../database/transaction.ts';
import { conflict, type FieldProblem, invalid } from '../../../web/problem.ts';
import { ballotsAreOpen, type ChoiceMade, type Selection } from '../../selection.ts';
import type { OfferTyped } from '../offer.ts';

// What holds for every offer, be it the first of its place, one of many, or of an alternate who moves up.

/** @throws Problem 409 with a sentence that says what comes first */
export function mustBeDecided({ state, title }: Selection): void {
  if (!ballotsAreOpen({ state }))
    throw conflict(
      `${title} is not decided yet (${state}): places are offered once ballots are opened and choices made.`,
    );
  if (state === 'closed') throw conflict(`${title} is closed: nothing is offered any more.`);
}

/** The days that offers get, in the conference's zone. @throws Problem 400 naming each that is missing or past */
export async function daysOf(
  client: Queryable,
  conferenceId: string,
  selection: Selection,
  typed: Pick<OfferTyped, 'answerBy'> & Partial<Pick<OfferTyped, 'embargoUntil'>>,
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

/** Today, and the day and minute, in the conference's zone. */
export async function conferencesNow(client: Queryable, conferenceId: string) {
  const { rows } = await client.query<{ today: string; moment: string }>(
    `SELECT to_char(now() AT TIME ZONE time_zone, 'YYYY-MM-DD') AS today,
            to_char(now() AT TIME ZONE time_zone, 'YYYY-MM-DD"T"HH24:MI') AS moment
       FROM conference WHERE id = $1`,
    [conferenceId],
  );
  return rows[0]!;
}

/** @throws Problem 409 where whoever is chosen left the conference or is no official any more */
export async function mustBeHere(client: Queryable, conferenceId: string, { officialId, slot }: ChoiceMade) {
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

export async function nameOf(client: Queryable, conferenceId: string, personId: string): Promise<string> {
  const { rows } = await client.query<{ name: string }>(
    `SELECT given_name || ' ' || family_name AS name FROM person WHERE conference_id = $1 AND id = $2`,
    [conferenceId, personId],
  );
  return rows[0]?.name ?? '';
}

/** Keeps the days of the selection, so that what is offered next has them too. */
export async function keepDays(
  client: Queryable,
  conferenceId: string,
  selectionId: string,
  days: { readonly answerBy: string; readonly embargoUntil: string },
): Promise<void> {
  await client.query(
    `UPDATE selection s SET state = 'offered', answer_by = $3, embargo_until = $4::timestamp AT TIME ZONE c.time_zone
       FROM conference c WHERE c.id = s.conference_id AND s.conference_id = $1 AND s.id = $2`,
    [conferenceId, selectionId, days.answerBy, days.embargoUntil],
  );
}

/** An offer of a chosen place, with the selection's days. @returns its id */
export async function putOffer(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  selectionId: string,
  { gameId, slot, position, officialId }: Pick<ChoiceMade, 'gameId' | 'slot' | 'position' | 'officialId'>,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO selection_offer
       (conference_id, selection_id, game_id, slot, position, official_id, offered_by, answer_by, embargo_until)
     SELECT $1, $2, $3, $4, $5, $6, $7, s.answer_by, s.embargo_until
       FROM selection s WHERE s.conference_id = $1 AND s.id = $2 RETURNING id`,
    [conferenceId, selectionId, gameId, slot, position, officialId, personId],
  );
  return rows[0]!.id;
}
