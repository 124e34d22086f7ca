import { type Position, positions } from '../football/positions.ts';

/** A place of a game: a position, or an alternate by number. */
export type Slot = Position | `alternate ${number}`;

export const alternateSlot = (number: number): Slot => `alternate ${number}`;

/** @returns null where it names no place */
export function slotNamed(text: string): Slot | null {
  const position = positions.find((one) => one === text);
  if (position) return position;
  return /^alternate [1-8]$/.test(text) ? (text as Slot) : null;
}

export const isAlternate = (slot: Slot): boolean => slot.startsWith('alternate ');

/** All places of a game, in the trade's order, alternates last. */
export const slotsOf = (game: {
  readonly positions: readonly Position[];
  readonly alternates: number;
}): Slot[] => [
  ...game.positions,
  ...Array.from({ length: game.alternates }, (_, at) => alternateSlot(at + 1)),
];
