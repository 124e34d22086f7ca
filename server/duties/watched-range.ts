import { type Position, positions } from '../football/positions.ts';
import type { Watched } from './watched.ts';

/** Plays of a log, both ends in it; null: from its first play, to its last and whatever is logged after it. */
export interface PlayRange {
  readonly from: string | null;
  readonly to: string | null;
}

type Change = (watched: readonly Position[]) => readonly Position[];

/**
 * What was watched, once it is changed for a range of plays, or for the whole report, its stretches too. Every other
 * play keeps whom it had. Said in as few stretches as it takes.
 */
export function withWatched(
  watched: Watched,
  orderedPlayIds: readonly string[],
  range: PlayRange | 'whole report',
  change: Change,
): Watched {
  const places = placesOf(watched, orderedPlayIds);
  const last = orderedPlayIds.length;
  const [from, to] = range === 'whole report' ? [0, last] : boundsOf(range, orderedPlayIds);
  const changed = places.map((seen, place) => (place >= from && place <= to ? inOrder(change(seen)) : seen));
  const throughout =
    range === 'whole report' ? inOrder(change(watched.positions)) : inOrder(watched.positions);
  const stretches = stretchesOf(changed, throughout, orderedPlayIds);
  // What holds for the plays still to come can only be said of the report as a whole.
  const [first, later] = [changed[last - 1], changed[last]!];
  const onlyLater = same(later, throughout) ? false : first === undefined || !same(first, later);
  if (onlyLater || changed.every((seen) => same(seen, later)))
    return { positions: later, stretches: stretchesOf(changed, later, orderedPlayIds) };
  return { positions: throughout, stretches };
}

/** Whom each play has, in the order of the log; at the end, those still to be logged. */
function placesOf(watched: Watched, orderedPlayIds: readonly string[]): Position[][] {
  const places = new Array<Position[]>(orderedPlayIds.length + 1).fill(inOrder(watched.positions));
  for (const stretch of watched.stretches) {
    const [from, to] = boundsOf(stretch, orderedPlayIds);
    places.fill(inOrder(stretch.positions), from, to + 1);
  }
  return places;
}

/** First and last place of a range. An end that is not in the log bounds nothing. */
function boundsOf({ from, to }: PlayRange, orderedPlayIds: readonly string[]): [number, number] {
  const first = from === null ? -1 : orderedPlayIds.indexOf(from);
  const last = to === null ? -1 : orderedPlayIds.indexOf(to);
  return [Math.max(0, first), last < 0 ? orderedPlayIds.length : last];
}

function stretchesOf(
  places: readonly Position[][],
  throughout: Position[],
  orderedPlayIds: readonly string[],
): Watched['stretches'] {
  const stretches: Watched['stretches'][number][] = [];
  for (let start = 0; start < places.length; ) {
    const seen = places[start]!;
    let end = start;
    while (end + 1 < places.length && same(places[end + 1]!, seen)) end++;
    if (!same(seen, throughout)) {
      stretches.push({
        from: start === 0 ? null : orderedPlayIds[start]!,
        to: orderedPlayIds[end] ?? null,
        positions: seen,
      });
    }
    start = end + 1;
  }
  return stretches;
}

const inOrder = (list: readonly Position[]): Position[] =>
  positions.filter((position) => list.includes(position));
const same = (one: readonly Position[], other: readonly Position[]) => one.join() === other.join();
