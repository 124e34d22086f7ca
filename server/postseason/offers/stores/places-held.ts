import type { Queryable } from '../../../database/transaction.ts';
import type { Slot } from '../../../selection/slots.ts';
import { day } from '../../../web/format.ts';
import { conflict } from '../../../web/problem.ts';

/**
 * A place that stands offered is chosen anew only after that offer is withdrawn: nobody loses a place without a word.
 * @throws Problem 409 naming who was offered it
 */
export async function mustNotBeOffered(
  client: Queryable,
  conferenceId: string,
  { gameId, slot }: { readonly gameId: string; readonly slot: Slot },
): Promise<void> {
  const { rows } = await client.query<{ name: string; game: string; answer: string | null }>(
    `SELECT p.given_name || ' ' || p.family_name AS name, g.name AS game, o.answer
       FROM selection_offer o
       JOIN selection_game g ON g.conference_id = o.conference_id AND g.id = o.game_id
       JOIN person p ON p.conference_id = o.conference_id AND p.id = o.official_id
      WHERE o.conference_id = $1 AND o.game_id = $2 AND o.slot = $3 AND (o.answer IS NULL OR o.answer = 'accepted')`,
    [conferenceId, gameId, slot],
  );
  const [held] = rows;
  if (held)
    throw conflict(
      `${held.name} ${held.answer ? 'has accepted' : 'was offered'} ${slot} of ${held.game}: withdraw that offer first, with its reason, then choose.`,
    );
}

/**
 * An official works one place a day, whichever selection it belongs to.
 * @throws Problem 409 naming the other game
 */
export async function mustBeFreeThatDay(
  client: Queryable,
  conferenceId: string,
  wanted: { readonly officialId: string; readonly gameId: string; readonly slot: Slot },
): Promise<void> {
  const { rows } = await client.query<{ name: string; slot: string; game: string; playedOn: string }>(
    `SELECT p.given_name || ' ' || p.family_name AS name, o.slot, g.name AS game,
            to_char(g.played_on, 'YYYY-MM-DD') AS "playedOn"
       FROM selection_offer o
       JOIN selection_game g ON g.conference_id = o.conference_id AND g.id = o.game_id
       JOIN person p ON p.conference_id = o.conference_id AND p.id = o.official_id
      WHERE o.conference_id = $1 AND o.official_id = $2 AND o.answer = 'accepted'
        AND g.played_on = (SELECT played_on FROM selection_game WHERE conference_id = $1 AND id = $3)
        AND NOT (o.game_id = $3 AND o.slot = $4)`,
    [conferenceId, wanted.officialId, wanted.gameId, wanted.slot],
  );
  const [other] = rows;
  if (other)
    throw conflict(
      `${other.name} has accepted ${other.slot} of ${other.game} on ${day(other.playedOn)}, and nobody works two places on one day: choose another official, or withdraw that offer first.`,
    );
}
