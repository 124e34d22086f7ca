/** Who sits where, and who leaves: what the form says. */
export interface Board {
  /** Of each seat's field, in the form's order: the person, or "" for nobody. */
  readonly seats: ReadonlyMap<string, string>;
  readonly leaving: ReadonlySet<string>;
}

/** The list of those who serve and are in no crew. */
export const noCrew = 'no crew';

/** A place to take somebody from or put them down at: a seat's field, or the list. */
type Place = string;

/** Who is picked up, and from where. */
export type Carried = { readonly personId: string; readonly from: Place };

const withSeats = (board: Board, changes: readonly (readonly [string, string])[]): Board => ({
  ...board,
  seats: new Map([...board.seats, ...changes]),
});

/**
 * The board once who is carried is put down. Two seats exchange their people; who sat where somebody of the list comes
 * goes to the list. The same board where nothing changes.
 */
export function putDown(board: Board, { personId, from }: Carried, to: Place): Board {
  if (to === from) return board;
  if (to === noCrew) return board.seats.has(from) ? withSeats(board, [[from, '']]) : board;
  const sitting = board.seats.get(to);
  if (sitting === undefined || sitting === personId) return board;
  return withSeats(board, [[to, personId], ...(from === noCrew ? [] : [[from, sitting] as const])]);
}

/** Who leaves gives up each seat; who stays after all comes back to the list, not silently to a seat. */
export function withLeaving(board: Board, personId: string, leaves: boolean): Board {
  if (board.leaving.has(personId) === leaves) return board;
  const leaving = new Set(board.leaving);
  if (!leaves) leaving.delete(personId);
  else leaving.add(personId);
  const given = leaves ? [...board.seats].filter(([, one]) => one === personId) : [];
  return {
    ...withSeats(
      board,
      given.map(([field]) => [field, ''] as const),
    ),
    leaving,
  };
}

/** Those of `officials` who serve and sit nowhere, in their order. */
export function inNoCrew<T extends { id: string }>(board: Board, officials: readonly T[]): T[] {
  const seated = new Set(board.seats.values());
  return officials.filter(({ id }) => !seated.has(id) && !board.leaving.has(id));
}

/** How many seats are empty in crews that have a name or somebody in them. */
export function emptySeats(
  board: Board,
  crews: readonly { name: string; fields: readonly string[] }[],
): number {
  return crews
    .map(({ name, fields }) => ({ name, people: fields.map((field) => board.seats.get(field) ?? '') }))
    .filter(({ name, people }) => name !== '' || people.some((one) => one !== ''))
    .reduce((sum, { people }) => sum + people.filter((one) => one === '').length, 0);
}
