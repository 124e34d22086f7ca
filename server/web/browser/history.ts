/** What can be taken back, and made again. */
interface History<T> {
  readonly past: readonly T[];
  readonly now: T;
  readonly future: readonly T[];
  /** What the last change was, so that a drag is taken back at once. */
  readonly last: string;
}

const most = 200;

export const began = <T>(now: T): History<T> => ({ past: [], now, future: [], last: '' });

/** @param what of the same name, one after the other, are taken back together; empty: each by itself */
export function did<T>(history: History<T>, now: T, what = ''): History<T> {
  if (now === history.now) return history;
  const joins = what !== '' && what === history.last;
  return {
    past: joins ? history.past : [...history.past, history.now].slice(-most),
    ...{ now, future: [], last: what },
  };
}

export function undone<T>({ past, now, future }: History<T>): History<T> {
  const before = past.at(-1);
  if (before === undefined) return { past, now, future, last: '' };
  return { past: past.slice(0, -1), now: before, future: [now, ...future], last: '' };
}

export function redone<T>({ past, now, future }: History<T>): History<T> {
  const [next, ...rest] = future;
  if (next === undefined) return { past, now, future, last: '' };
  return { past: [...past, now], now: next, future: rest, last: '' };
}
