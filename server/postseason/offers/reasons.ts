import type { Queryable } from '../../database/transaction.ts';
import { conflict } from '../../web/problem.ts';
import { missingReasons, placesDecided } from '../committee/decisions.ts';
import { readBasis } from '../committee/stores/basis-store.ts';
import { readDeclined, readPassOvers } from '../committee/stores/pass-over-store.ts';
import type { ChoiceMade, Selection } from '../selection.ts';

/**
 * What is offered was decided with its reasons, of the choice and of everybody ranked higher who was passed over.
 * @throws Problem 409 naming the places whose decision lacks one
 */
export async function mustHaveReasons(
  db: Queryable,
  conferenceId: string,
  selection: Selection,
  offered: readonly ChoiceMade[],
): Promise<void> {
  const basis = await readBasis(db, conferenceId, selection.id);
  if (!basis) throw conflict(`The candidates of ${selection.title} were not kept: decide on them first.`);
  const recorded = await readPassOvers(db, conferenceId, selection.id);
  const declined = await readDeclined(db, conferenceId, selection.id);
  const without = missingReasons(placesDecided(selection, basis, recorded, declined)).filter((place) =>
    offered.some((one) => one.gameId === place.gameId && one.slot === place.slot),
  );
  if (without.length > 0)
    throw conflict(
      `Not every decision has its reason yet: ${without.map(({ words }) => words).join('; ')}. Write it under “Decisions and reasons”, then offer.`,
    );
}
