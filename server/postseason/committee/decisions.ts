import { createHash } from 'node:crypto';
import { positionsOf } from '../../football/crews.ts';
import type { CrewSize } from '../../football/positions.ts';
import { type PassedOver, passedOver } from '../../selection/passed-over.ts';
import { type Slot, slotsOf } from '../../selection/slots.ts';
import type { ChoiceMade, Selection, SelectionGame } from '../selection.ts';
import { type Basis, linesOf } from './basis.ts';

/** A reason why somebody ranked higher was not chosen. */
export interface PassOver {
  readonly gameId: string;
  readonly slot: Slot;
  readonly officialId: string;
  /** Whom they were passed over for: with another choice the reason no longer holds. */
  readonly chosenId: string;
  readonly kind: 'same tier' | 'other';
  readonly reason: string;
  readonly recordedBy: string;
  readonly recordedAt: string;
}

/** One place of a game with what was decided of it. */
export interface PlaceDecided {
  readonly game: SelectionGame;
  readonly slot: Slot;
  readonly choice: ChoiceMade | null;
  readonly passedOver: readonly (PassedOver & { readonly recorded: PassOver | null })[];
}

/**
 * Every place of a selection, with whom its choice passes over and why.
 * @param declined who declined an offer of this selection: nobody passed them over
 */
export function placesDecided(
  selection: Selection,
  basis: Basis,
  recorded: readonly PassOver[],
  declined: ReadonlySet<string>,
): PlaceDecided[] {
  const spokenFor = new Set([...selection.choices.map(({ officialId }) => officialId), ...declined]);
  return selection.games.flatMap((game) =>
    slotsOf({ ...game, positions: positionsOf(game.crewSize as CrewSize) }).map((slot): PlaceDecided => {
      const choice = selection.choices.find((one) => one.gameId === game.id && one.slot === slot) ?? null;
      const over = choice ? passedOver(choice, linesOf(basis, game.id, choice.position), spokenFor) : [];
      return {
        ...{ game, slot, choice },
        passedOver: over.map((one) => ({
          ...one,
          recorded:
            recorded.find(
              (row) =>
                row.gameId === game.id &&
                row.slot === slot &&
                row.officialId === one.officialId &&
                row.chosenId === choice?.officialId,
            ) ?? null,
        })),
      };
    }),
  );
}

/** What has no reason yet, in words; none where every decision can be traced. */
export function missingReasons(
  places: readonly PlaceDecided[],
): { gameId: string; slot: Slot; words: string }[] {
  return places.flatMap(({ game, slot, choice, passedOver: over }) => {
    if (!choice) return [];
    const without = over.filter(({ recorded }) => !recorded).length;
    const words = [
      ...(choice.reason === '' ? ['the choice'] : []),
      ...(without > 0 ? [without === 1 ? 'one passed over' : `${without} passed over`] : []),
    ].join(' and ');
    return words === '' ? [] : [{ gameId: game.id, slot, words: `${slot}, ${game.name}: ${words}` }];
  });
}

/** What a page shows of a place's decision, in short: another value where anything of it was changed. */
export const asShown = ({ choice, passedOver: over }: PlaceDecided): string =>
  createHash('sha256')
    .update(
      JSON.stringify([
        choice?.officialId,
        choice?.reason,
        over.map(({ officialId, recorded }) => [officialId, recorded?.reason]),
      ]),
    )
    .digest('hex')
    .slice(0, 16);
