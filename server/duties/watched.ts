import { type Position, positions } from '../football/positions.ts';
import type { Watched } from './watched-schema.ts';

export type { Watched } from './watched-schema.ts';

type Stretch = Watched['stretches'][number];

/** Everybody, from the first play to the last: also whoever is entered as working later. */
export const everybodyWatched: Watched = { positions: [...positions], stretches: [] };

export type WatchedOn = (playId: string, position: Position) => boolean;

/** Whether a position was watched on a play of this log. An end that is not in the log bounds nothing. */
export function watchedOn(watched: Watched, orderedPlayIds: readonly string[]): WatchedOn {
  const throughout = new Set(watched.positions);
  if (watched.stretches.length === 0) return (_playId, position) => throughout.has(position);
  const byPlay = new Map(orderedPlayIds.map((id) => [id, throughout]));
  for (const stretch of watched.stretches) {
    const [from, to] = placesOf(stretch, orderedPlayIds);
    const seen = new Set(stretch.positions);
    for (const id of orderedPlayIds.slice(from, to + 1)) byPlay.set(id, seen);
  }
  return (playId, position) => (byPlay.get(playId) ?? throughout).has(position);
}

/** First and last place of a stretch in the log; the last is before the first when it holds no play. */
function placesOf({ from, to }: Stretch, orderedPlayIds: readonly string[]): [number, number] {
  const first = from === null ? -1 : orderedPlayIds.indexOf(from);
  const last = to === null ? -1 : orderedPlayIds.indexOf(to);
  return [Math.max(first, 0), last < 0 ? orderedPlayIds.length - 1 : last];
}

/**
 * What was watched, once a play is taken out of the log (`orderedPlayIds` still has it): a stretch that began or ended
 * there now does so at the neighbour inside it, and one that held only this play is gone. One that went on from the last
 * play holds for the plays still to come, so it is said of the report as a whole and the plays before are set apart.
 */
export function watchedWithout(watched: Watched, playId: string, orderedPlayIds: readonly string[]): Watched {
  if (!watched.stretches.some(({ from, to }) => from === playId || to === playId)) return watched;
  const at = orderedPlayIds.indexOf(playId);
  let throughout = watched.positions;
  let stretches: Stretch[] = [];
  for (const stretch of watched.stretches) {
    const [first, last] = placesOf(stretch, orderedPlayIds);
    if (first === at && last === at) {
      if (stretch.to !== null) continue;
      const before = orderedPlayIds[at - 1];
      // What was said before of the plays to come no longer holds for them.
      stretches = stretches.map(({ to, ...rest }) => ({ ...rest, to: to ?? before ?? null }));
      stretches =
        before === undefined ? [] : [{ from: null, to: before, positions: throughout }, ...stretches];
      throughout = stretch.positions;
      continue;
    }
    stretches.push({
      ...stretch,
      from: stretch.from === playId ? orderedPlayIds[at + 1]! : stretch.from,
      to: stretch.to === playId ? orderedPlayIds[at - 1]! : stretch.to,
    });
  }
  return { positions: throughout, stretches };
}

/** Equal whatever the order in which positions are named. */
export function sameWatched(one: Watched | null, other: Watched | null): boolean {
  return JSON.stringify(inOrder(one)) === JSON.stringify(inOrder(other));
}

function inOrder(watched: Watched | null) {
  const sorted = (list: readonly Position[]) => positions.filter((position) => list.includes(position));
  return (
    watched && [
      sorted(watched.positions),
      watched.stretches.map(({ from, to, positions: seen }) => [from, to, sorted(seen)]),
    ]
  );
}

/**
 * `everybody; plays 12 to 20 nobody`: what was watched, of those who worked. `numberOf` gives a play's number, or
 * undefined when it is not in the log.
 */
export function watchedInWords(
  watched: Watched,
  crew: readonly Position[],
  numberOf: (playId: string) => number | undefined,
): string {
  const end = (id: string | null) => (id === null ? undefined : numberOf(id));
  const stretches = watched.stretches.map(({ from, to, positions: seen }) => {
    const [first, last] = [end(from), end(to)];
    const plays =
      first === undefined
        ? last === undefined
          ? 'all plays'
          : `up to play ${last}`
        : last === undefined
          ? `from play ${first}`
          : first === last
            ? `play ${first}`
            : `plays ${first} to ${last}`;
    return `${plays} ${whoInWords(seen, crew)}`;
  });
  return [whoInWords(watched.positions, crew), ...stretches].join('; ');
}

function whoInWords(seen: readonly Position[], crew: readonly Position[]): string {
  const watched = positions.filter((position) => crew.includes(position) && seen.includes(position));
  if (watched.length === 0) return 'nobody';
  const others = positions.filter((position) => crew.includes(position) && !seen.includes(position));
  if (others.length === 0) return 'everybody';
  return others.length < watched.length ? `everybody but ${others.join(', ')}` : watched.join(', ');
}
