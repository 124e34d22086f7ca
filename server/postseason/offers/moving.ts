import type { Basis } from '../committee/basis.ts';
import { type PassOver, type PlaceDecided, placesDecided } from '../committee/decisions.ts';
import type { ChoiceMade, Selection } from '../selection.ts';

/** What decisions of a selection are held against. */
export interface Compared {
  readonly basis: Basis;
  readonly recorded: readonly PassOver[];
  readonly declined: ReadonlySet<string>;
}

/** A place of a game as it would be decided once an alternate has moved up to it: with whom that passes over. */
export function onceMoved(
  selection: Selection,
  moved: ChoiceMade,
  { basis, recorded, declined }: Compared,
): PlaceDecided {
  const choices = selection.choices.filter(
    (one) => one.gameId !== moved.gameId || one.officialId !== moved.officialId,
  );
  const places = placesDecided({ ...selection, choices: [...choices, moved] }, basis, recorded, declined);
  return places.find(({ game, slot }) => game.id === moved.gameId && slot === moved.slot)!;
}
