/** From where to where a reel was played, in seconds of it. */
export type Stretch = readonly [from: number, to: number];

/** What touches within this many seconds is one: players tell a pause of a frame or two between what they play. */
const joined = 0.05;

/** The same seconds as stretches in order, none touching another; what is empty or no number is left out. */
export function union(stretches: readonly Stretch[]): Stretch[] {
  const sorted = stretches
    .filter(([from, to]) => Number.isFinite(from) && Number.isFinite(to) && to > from)
    .sort((one, other) => one[0] - other[0]);
  const all: [number, number][] = [];
  for (const [from, to] of sorted) {
    const last = all.at(-1);
    if (last && from <= last[1] + joined) last[1] = Math.max(last[1], to);
    else all.push([from, to]);
  }
  return all;
}

export const lengthOf = (stretches: readonly Stretch[]): number =>
  union(stretches).reduce((sum, [from, to]) => sum + to - from, 0);

/**
 * What is there with what is said to be played besides, within the reel and for no more seconds than `most` in all: nobody
 * watches faster than time passes. What is beyond is left out from the end of what was said; said again later, it counts.
 */
export function credited(
  there: readonly Stretch[],
  said: readonly Stretch[],
  { length, most }: { readonly length: number; readonly most: number },
): Stretch[] {
  let all = union(there);
  for (const [from, to] of said) {
    const within: Stretch = [Math.max(0, from), Math.min(length, to)];
    const with_ = union([...all, within]);
    const over = lengthOf(with_) - Math.max(most, lengthOf(all));
    if (over <= 0) all = with_;
    else {
      // As much of it from its beginning as fits.
      all = fitting(all, within, most);
      break;
    }
  }
  return all;
}

function fitting(all: Stretch[], [from, to]: Stretch, most: number): Stretch[] {
  const room = most - lengthOf(all);
  if (room <= 0) return all;
  let left = room;
  let at = from;
  for (const [start, end] of [...all.filter((one) => one[1] > from), [to, to] as Stretch]) {
    const gap = Math.min(start, to) - at;
    if (gap >= left) return union([...all, [from, at + left]]);
    if (gap > 0) left -= gap;
    at = Math.max(at, end);
    if (at >= to) break;
  }
  return union([...all, [from, Math.min(at, to)]]);
}
